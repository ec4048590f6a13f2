"""The page of the dated tables."""

import pytest

from showplan import reference
from showplan.services.knowledge import TABLES, table_named
from tests.frontend.pages import signed_in, words_of

pytestmark = pytest.mark.django_db


def test_every_row_of_every_table_is_there_with_its_source(owner):
    words = words_of(signed_in(owner).get("/reference/"))
    tables = [reference.materials(), reference.phys(), reference.regions(), reference.environments()]
    tables.append(reference.alpha_beta_gamma())
    for table in tables:
        for row in table.values():
            assert row.name in words
            assert row.source in words
    for key in reference.regions():
        for rule in reference.region_rules(key):
            assert rule.citation in words
            assert rule.as_of in words
    for rows in (reference.crowds(), reference.power_losses(), reference.floor_losses(), reference.indoor_shadowing()):
        assert all(row.source in words for row in rows)


def test_rows_from_memory_are_marked_as_often_as_there_are(owner):
    words = words_of(signed_in(owner).get("/reference/"))
    rows = [row for name in TABLES for row in table_named(name)]
    from_memory = sum(row["standing"] == "memory" for row in rows)
    assert from_memory > 0
    assert words.count("from memory: have it checked") == from_memory


def test_limits_keep_their_kind_and_sign(owner):
    words = words_of(signed_in(owner).get("/reference/"))
    assert "−1.249 dBm EIRP" in words
    assert "13.979 dBm ERP" in words
    assert "30 dBm conducted" in words


def test_dwell_and_listening_stand_in_columns_of_their_own(owner):
    words = words_of(signed_in(owner).get("/reference/"))
    assert "limit duty dwell least hop channels listens first conditions" in words
    assert "30 dBm conducted – 0.4 s in 20 s 50 –" in words
    assert "13 dBm conducted – 360 s in 3600 s – −80 dBm, 128 µs" in words
    assert "13.979 dBm ERP 0.1 % – – – or polite access" in words


def test_figures_of_power_stand_with_their_units(owner):
    words = words_of(signed_in(owner).get("/reference/"))
    assert "0.5 mm² 39 Ω/km 40.1 Ω/km 3 A 2 kg 21 and 20 AWG" in words
    assert "blade, ISO 8820-3 1, 2, 3, 4, 5, 7.5, 10, 15, 20, 25, 30 A 75 % 135 % 32, 58" in words
    assert "L, low (glass) 35 A or 10 times its rating" in words
    assert "Li-ion 3.6 V 3 V 4.2 V 1.05 (1.01 to 1.06) 30 mΩ 80 % 1.15 0 to 45 °C −20 to 60 °C" in words
    assert "tape 12 V, 14.4 W/m led string 12 V 14.4 W/m 9 V 0.1 Ω/m –" in words
    assert "lithium above 100 up to 160 Wh cabin, or checked and fully off at most 2: cabin only" in words
