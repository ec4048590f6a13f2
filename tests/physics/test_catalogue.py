"""The catalogue is complete: every public formula once, with meaning, unit, source and parameters."""

import importlib
import inspect
import json
import pkgutil

import pytest

import showplan.physics
from showplan.physics.catalogue import Parameter, Source, catalogue, formula
from showplan.reference.standing import STANDINGS

# These modules carry the catalogue and hold no formula.
MACHINERY = {"catalogue", "checking", "constants", "division", "electrical", "errors", "parameters", "registry"}
REQUIRED = {
    "free_space_loss_db": ["distance_m", "frequency_mhz"],
    "log_distance_loss_db": ["distance_m", "frequency_mhz", "path_loss_exponent"],
    "floor_loss_db": ["floors_crossed", "loss_per_floor_db"],
    "walls_loss_db": ["wall_count", "loss_per_wall_db"],
    "received_power_dbm": [
        "transmit_power_dbm",
        "transmit_gain_dbi",
        "receive_gain_dbi",
        "path_loss_db",
        "other_losses_db",
    ],
    "link_margin_db": ["received_power_dbm", "sensitivity_dbm", "fade_margin_db"],
    "eirp_dbm": ["transmit_power_dbm", "antenna_gain_dbi", "cable_loss_db"],
    "eirp_from_erp_dbm": ["erp_dbm"],
    "thermal_noise_dbm": ["bandwidth_mhz", "noise_figure_db", "temperature_k"],
    "eirp_from_field_strength_dbm": ["field_strength_mv_per_m", "distance_m"],
    "polarisation_loss_db": ["mismatch_deg"],
    "wavelength_m": ["frequency_mhz"],
    "fresnel_radius_m": ["distance_to_a_m", "distance_to_b_m", "frequency_mhz"],
    "add_powers_dbm": ["first_dbm", "second_dbm"],
}
UNIT_BY_WORD = {
    "db": "dB",
    "dbi": "dBi",
    "dbm": "dBm",
    "deg": "°",
    "eirp": "dBm",
    "k": "K",
    "m": "m",
    "mhz": "MHz",
    "mw": "mW",
    "ratio": "",
}


def public_functions():
    """(module, name, function) of every public function defined in a formula module."""
    for module_info in pkgutil.iter_modules(showplan.physics.__path__):
        if module_info.name in MACHINERY:
            continue
        module = importlib.import_module(f"showplan.physics.{module_info.name}")
        for name, function in inspect.getmembers(module, inspect.isfunction):
            if not name.startswith("_") and function.__module__ == module.__name__:
                yield module_info.name, name, function


def test_every_public_function_is_registered_once_and_nothing_else():
    found = list(public_functions())
    names = [name for _, name, _ in found]
    assert len(set(names)) == len(names)
    assert sorted(names) == list(catalogue())
    for _, name, function in found:
        assert catalogue()[name].function is function


@pytest.mark.parametrize("name", REQUIRED)
def test_agreed_signatures(name):
    assert list(inspect.signature(catalogue()[name].function).parameters) == REQUIRED[name]


@pytest.mark.parametrize("name", catalogue())
def test_entry_is_complete(name):
    entry = catalogue()[name]
    signature = inspect.signature(entry.function).parameters
    assert [parameter.name for parameter in entry.parameters] == list(signature)
    for parameter in entry.parameters:
        default = signature[parameter.name].default
        assert parameter.default == (None if default is inspect.Parameter.empty else default)
        assert parameter.meaning
        assert_unit_matches(parameter.name, parameter.unit)
    assert_unit_matches(name, entry.result_unit)
    assert entry.meaning
    assert entry.expression
    assert entry.validity
    assert entry.source.document
    assert entry.source.standing in STANDINGS


def assert_unit_matches(name, unit):
    """The unit is the one in the name: before `_from_`, else at the end."""
    if "_per_" in name and "_from_" not in name:
        return
    word = name.partition("_from_")[0].rpartition("_")[2]
    assert unit == UNIT_BY_WORD.get(word, unit)


def test_entries_are_ready_for_json():
    rows = json.loads(json.dumps([entry.as_dict() for entry in catalogue().values()]))
    first = next(row for row in rows if row["name"] == "free_space_loss_db")
    assert first["result_unit"] == "dB"
    assert first["source"] == {
        "document": "ITU-R P.525, free-space basic transmission loss",
        "edition": "",
        "section": "",
        "standing": "memory",
    }
    assert [parameter["unit"] for parameter in first["parameters"]] == ["m", "MHz"]


def register(function, *parameters):
    """Try to register a function with these parameters."""
    return formula(
        expression="y = x", parameters=parameters, result_unit="dB", source=Source("none"), validity="never"
    )(function)


def test_a_second_formula_of_the_same_name_is_refused():
    def walls_loss_db(x):
        """Something else."""
        return x

    with pytest.raises(ValueError, match="'walls_loss_db' is registered twice"):
        register(walls_loss_db, Parameter("x", "", "x"))


def test_parameters_must_match_the_signature():
    def brand_new(x, y=2):
        """Something new."""
        return x + y

    with pytest.raises(ValueError, match="its signature is"):
        register(brand_new, Parameter("x", "", "x"), Parameter("y", "", "y", default=3))
    assert "brand_new" not in catalogue()


def test_a_formula_without_meaning_is_refused():
    def undescribed(x):
        return x

    with pytest.raises(ValueError, match="has no docstring"):
        register(undescribed, Parameter("x", "", "x"))
