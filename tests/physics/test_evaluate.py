"""evaluate(): values as numbers or text, every fault at once, warnings outside the validity range."""

import contextlib
import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from showplan.physics.catalogue import catalogue, evaluate
from showplan.physics.errors import BadParameters, FormulaError, NoFiniteResult, UnknownFormula

FREE_SPACE = {"distance_m": "42", "frequency_mhz": 868.3}


def test_result_carries_unit_source_and_inputs_with_defaults():
    result = evaluate("thermal_noise_dbm", {"bandwidth_mhz": "2"})
    assert result.value == pytest.approx(-110.965, abs=0.01)
    assert result.unit == "dBm"
    assert dict(result.inputs) == {"bandwidth_mhz": 2, "noise_figure_db": 0, "temperature_k": 290}
    assert result.source == catalogue()["thermal_noise_dbm"].source
    assert result.warnings == ()


def test_text_and_numbers_give_the_same():
    assert evaluate("free_space_loss_db", FREE_SPACE) == evaluate(
        "free_space_loss_db", {"distance_m": 42, "frequency_mhz": "868.3"}
    )


def test_unknown_formula_offers_the_closest_names():
    with pytest.raises(UnknownFormula, match="did you mean free_space_loss_db") as caught:
        evaluate("free_space_los_db", FREE_SPACE)
    assert caught.value.closest[0] == "free_space_loss_db"
    with pytest.raises(UnknownFormula, match="list them with 'formulas'"):
        evaluate("qqqqqq", {})


def test_every_fault_is_reported_at_once():
    values = {"transmit_power_dbm": "much", "transmit_gain_dbi": math.nan, "recieve_gain_dbi": 2}
    with pytest.raises(BadParameters) as caught:
        evaluate("received_power_dbm", values)
    faults = dict(caught.value.details)
    assert set(faults) == {
        "recieve_gain_dbi",
        "transmit_power_dbm",
        "transmit_gain_dbi",
        "receive_gain_dbi",
        "path_loss_db",
    }
    assert "did you mean receive_gain_dbi?" in faults["recieve_gain_dbi"]
    assert "'much' is not a finite number" in faults["transmit_power_dbm"]
    assert "is missing; give a number in dB (" in faults["path_loss_db"]
    assert len(caught.value.faults) == 5


@pytest.mark.parametrize(
    ("name", "parameter", "given", "message"),
    [
        ("free_space_loss_db", "distance_m", -1, "must be at least 0"),
        ("free_space_loss_db", "frequency_mhz", 0, "must be more than 0"),
        ("free_space_loss_db", "frequency_mhz", "1e7", "must be at most 1e+06"),
        ("free_space_loss_db", "distance_m", "inf", "is not a finite number"),
        ("free_space_loss_db", "distance_m", "nan", "is not a finite number"),
        ("free_space_loss_db", "distance_m", True, "is not a finite number"),
        ("free_space_loss_db", "distance_m", 10**400, "is not a finite number"),
        ("free_space_loss_db", "distance_m", "", "is not a finite number"),
        ("free_space_loss_db", "distance_m", [1, 2], "is not a finite number"),
        ("walls_loss_db", "wall_count", 1.5, "is not a whole number"),
    ],
)
def test_bad_value(name, parameter, given, message):
    values = {entry.name: 1 for entry in catalogue()[name].parameters} | {parameter: given}
    with pytest.raises(BadParameters) as caught:
        evaluate(name, values)
    ((faulty, fault),) = caught.value.details
    assert faulty == parameter
    assert message in fault


def test_outside_the_validity_range_is_a_warning():
    result = evaluate("free_space_loss_db", {"distance_m": 0, "frequency_mhz": 60000})
    near, high = result.warnings
    assert near.startswith("distance_m = 0 m is below 1, outside the validity range")
    assert high.startswith("frequency_mhz = 60000 MHz is above 6000, outside the validity range")


def test_result_that_is_not_finite_is_an_error():
    tiny = 5e-324
    with pytest.raises(NoFiniteResult, match="are the units right"):
        evaluate("wavelength_m", {"frequency_mhz": tiny})


def test_as_dict_names_what_the_command_promises():
    assert {"value", "unit", "source", "warnings", "inputs"} <= set(
        evaluate("free_space_loss_db", FREE_SPACE).as_dict()
    )


@pytest.mark.parametrize("name", catalogue())
@given(data=st.data())
def test_any_finite_input_gives_a_finite_result_or_a_formula_error(name, data):
    values = {parameter.name: data.draw(st.floats()) for parameter in catalogue()[name].parameters}
    value = 0.0
    with contextlib.suppress(FormulaError):
        value = evaluate(name, values).value
    assert math.isfinite(value)
