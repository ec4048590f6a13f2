"""A faulty table is refused with the file, the line and the column."""

import pytest

from showplan.reference.body_losses import load_body_losses
from showplan.reference.carriage import CarriageRule
from showplan.reference.environments import load_environments
from showplan.reference.fuses import FuseGate, FuseSeries
from showplan.reference.loads import LoadPreset
from showplan.reference.materials import load_materials
from showplan.reference.phys import load_phys
from showplan.reference.records import load_keyed, load_rows
from showplan.reference.region_rules import load_region_rules
from showplan.reference.regions import load_regions
from showplan.reference.standing import ReferenceTableError
from showplan.reference.table import DATA_FOLDER
from showplan.reference.wires import Wire

LOADERS = {
    "wires.csv": lambda path: load_keyed(path, Wire),
    "fuse_series.csv": lambda path: load_keyed(path, FuseSeries),
    "fuse_gates.csv": lambda path: load_rows(path, FuseGate),
    "load_presets.csv": lambda path: load_keyed(path, LoadPreset),
    "carriage_rules.csv": lambda path: load_keyed(path, CarriageRule),
    "materials.csv": load_materials,
    "phys.csv": load_phys,
    "regions.csv": load_regions,
    "region_rules.csv": load_region_rules,
    "environments.csv": load_environments,
    "body_loss.csv": load_body_losses,
}
HEADER = "key,name,path_loss_exponent,shadowing_sigma_db,source,standing,as_of,note\n"
GOOD = "hall,Hall,2.5,5,a source,read,2024,\n"


def refusal(folder, file, text):
    """The error that loading this text gives."""
    path = folder / file
    path.write_text(text, encoding="utf-8")
    with pytest.raises(ReferenceTableError) as caught:
        LOADERS[file](path)
    return caught.value


def test_the_row_that_is_spoilt_below_is_good(tmp_path):
    (tmp_path / "environments.csv").write_text(HEADER + GOOD, encoding="utf-8")
    assert load_environments(tmp_path / "environments.csv")["hall"].path_loss_exponent == 2.5


@pytest.mark.parametrize(
    ("text", "line", "column", "fault"),
    [
        (HEADER.replace("note", "notes") + GOOD, 1, "notes", "unknown column"),
        (HEADER.replace(",note", "") + GOOD, 1, "note", "missing from the header"),
        (HEADER.replace("name", "key") + GOOD, 1, "key", "stands twice"),
        (HEADER, 1, "key", "no rows"),
        (HEADER + GOOD + GOOD.replace("a source", " "), 3, "source", "is empty"),
        (
            HEADER + GOOD.replace("read", "heard"),
            2,
            "standing",
            "'heard' is not one of read, memory, derived",
        ),
        (HEADER + GOOD.replace("2024", "May"), 2, "as_of", "is not YYYY"),
        (HEADER + GOOD.replace("2.5", "two"), 2, "path_loss_exponent", "'two' is not a number"),
        (HEADER + GOOD.replace("2.5", "nan"), 2, "path_loss_exponent", "'nan' is not finite"),
        (HEADER + GOOD + GOOD, 3, "key", "'hall' is already used"),
        (HEADER + GOOD.replace(",5,", ",5,6,"), 2, "note", "the row has 9 cells, the header 8"),
        (HEADER + "hall,Hall,2.5\n", 2, "path_loss_exponent", "the row has 3 cells, the header 8"),
        ("", 1, "key", "missing from the header"),
    ],
)
def test_fault_names_line_and_column(tmp_path, text, line, column, fault):
    error = refusal(tmp_path, "environments.csv", text)
    assert (error.file, error.line, error.column) == ("environments.csv", line, column)
    assert fault in error.fault
    assert str(error).startswith(f"environments.csv, line {line}, column '{column}': ")


@pytest.mark.parametrize(
    ("file", "right", "wrong", "column", "fault"),
    [
        ("materials.csv", "concrete-150,concrete 150 mm,915", "concrete-150,concrete,915", "name", "differs"),
        ("materials.csv", "concrete 150 mm,915", "concrete 150 mm,868", "frequency_mhz", "already has"),
        ("phys.csv", ",11,26,", ",11,26.5,", "last_channel", "is not a whole number"),
        (
            "regions.csv",
            "nz,New Zealand,Radio Spectrum Management",
            "nz,New Zealand,",
            "regulator",
            "is empty",
        ),
        ("region_rules.csv", "eu,863,", "mars,863,", "region", "'mars' is not one of us, eu"),
        ("region_rules.csv", "eu,863,865", "eu,866,865", "high_mhz", "must be above low_mhz 866"),
        ("region_rules.csv", "conducted,3,", "conducted,,", "max_antenna_gain_dbi", "each conducted limit"),
        ("region_rules.csv", "erp,,", "erp,3,", "max_antenna_gain_dbi", "to no other"),
        ("region_rules.csv", ",10,1000,", ",10,,", "density_bandwidth_khz", "together with density_dbm"),
        ("region_rules.csv", ",360,3600,", ",360,,", "dwell_window_s", "together with dwell_s"),
        ("region_rules.csv", ",0.4,20,", ",40,20,", "dwell_s", "at most dwell_window_s 20"),
        ("region_rules.csv", ",-80,128,", ",-80,,", "sense_us", "together with sense_dbm"),
        (
            "region_rules.csv",
            "eu,865,868,13.979,erp,,,,1,",
            "eu,865,868,13.979,erp,,,,101,",
            "duty_percent",
            "at most 100",
        ),
        ("region_rules.csv", ",2023-03-03,", ",,", "as_of", "carries the date"),
        ("region_rules.csv", "conducted", "radiated", "limit_kind", "not one of eirp, erp, conducted"),
        ("wires.csv", ",2,21,20,", ",2,21.5,20,", "awg_below", "'21.5' is not a whole number"),
        ("wires.csv", "\n0.75,0.75", "\n0.5,0.75", "key", "'0.5' is already used"),
        ("fuse_series.csv", "1 2 3 4", "1 two 3 4", "ratings_a", "is not a list of numbers"),
        ("fuse_series.csv", "1 2 3 4", "1 nan 3 4", "ratings_a", "holds a number that is not finite"),
        ("fuse_gates.csv", "ul,1.1,14400", "ul,1.1,long", "least_s", "'long' is not a number"),
        ("load_presets.csv", "tape,led-string", "tape,led", "behaviour", "'led' is not one of constant-current"),
        ("carriage_rules.csv", ",yes,0,100", ",maybe,0,100", "is_lithium", "'maybe' is not one of yes, no"),
        ("carriage_rules.csv", ",read,2024,", ",read,May 2024,", "as_of", "is not YYYY"),
        ("body_loss.csv", "blocked", "asleep", "posture", "'asleep' is not one of facing, side, blocked"),
    ],
)
def test_one_spoilt_cell_of_a_shipped_table(tmp_path, file, right, wrong, column, fault):
    text = (DATA_FOLDER / file).read_text(encoding="utf-8")
    assert right in text
    error = refusal(tmp_path, file, text.replace(right, wrong, 1))
    assert error.column == column
    assert fault in error.fault
