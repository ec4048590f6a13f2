"""`manage.py formulas` and `manage.py formula`, without a database."""

import io
import json

import pytest
from django.core.management import call_command

from showplan.physics.catalogue import catalogue


def run(*arguments, **options):
    """Run a command; returns (what it printed, what it complained, exit code)."""
    out, complaints = io.StringIO(), io.StringIO()
    try:
        call_command(*arguments, stdout=out, stderr=complaints, no_color=True, **options)
    except SystemExit as leaving:
        return out.getvalue(), complaints.getvalue(), leaving.code
    return out.getvalue(), complaints.getvalue(), 0


def test_formulas_as_text_names_every_formula_with_its_source():
    printed, complaints, code = run("formulas")
    assert (complaints, code) == ("", 0)
    for name, formula in catalogue().items():
        assert f"{name}: {formula.meaning}" in printed
        assert f"Source: {formula.source.document}" in printed


def test_formulas_as_json():
    printed, _, _ = run("formulas", json=True)
    assert [row["name"] for row in json.loads(printed)] == list(catalogue())


@pytest.mark.parametrize("options", [[], ["--json"]])
def test_formula_prints_json(options):
    printed, complaints, code = run("formula", "free_space_loss_db", "distance_m=42", "frequency_mhz=868.3", *options)
    result = json.loads(printed)
    assert (complaints, code) == ("", 0)
    # ITU-R P.525 (from memory)
    assert result["value"] == pytest.approx(63.686, abs=0.01)
    assert result["unit"] == "dB"
    assert result["inputs"] == {"distance_m": 42, "frequency_mhz": 868.3}
    assert result["source"]["standing"] == "memory"
    assert result["warnings"] == []


def test_negative_values_are_values():
    printed, _, code = run("formula", "eirp_from_erp_dbm", "erp_dbm=-5")
    assert code == 0
    assert json.loads(printed)["value"] == pytest.approx(-2.85)


def test_one_line_per_fault_and_exit_code_two():
    printed, complaints, code = run("formula", "free_space_loss_db", "distance_m=-4", "speed=3", "42", "distance_m=5")
    assert (printed, code) == ("", 2)
    faulty = [line.split(": ")[1] for line in complaints.splitlines()]
    assert faulty == ["42", "distance_m", "speed", "distance_m", "frequency_mhz"]


def test_a_doubled_value_is_refused_even_if_all_else_is_right():
    _, complaints, code = run("formula", "wavelength_m", "frequency_mhz=868", "frequency_mhz=915")
    assert code == 2
    assert complaints.strip() == "wavelength_m: frequency_mhz: is given twice"


def test_unknown_formula():
    _, complaints, code = run("formula", "wavelenght_m", "frequency_mhz=868")
    assert code == 2
    assert complaints.strip() == "unknown formula 'wavelenght_m'; did you mean wavelength_m?"
