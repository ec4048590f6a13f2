"""The page of the dated tables."""

import pytest

from showplan import reference
from tests.frontend.pages import signed_in, words_of

pytestmark = pytest.mark.django_db


def test_every_row_of_every_table_is_there_with_its_source(owner):
    words = words_of(signed_in(owner).get("/reference/"))
    tables = [reference.materials(), reference.phys(), reference.regions(), reference.environments()]
    for table in tables:
        for row in table.values():
            assert row.name in words
            assert row.source in words
    for key in reference.regions():
        for rule in reference.region_rules(key):
            assert rule.citation in words
            assert rule.as_of in words


def test_rows_from_memory_are_marked_as_often_as_there_are(owner):
    words = words_of(signed_in(owner).get("/reference/"))
    rows = [
        *reference.materials().values(),
        *reference.phys().values(),
        *reference.regions().values(),
        *reference.environments().values(),
        *reference.body_losses(),
        *(rule for key in reference.regions() for rule in reference.region_rules(key)),
    ]
    from_memory = sum(row.standing == "memory" for row in rows)
    assert from_memory > 0
    assert words.count("from memory: have it checked") == from_memory


def test_limits_keep_their_kind_and_sign(owner):
    words = words_of(signed_in(owner).get("/reference/"))
    assert "−1.249 dBm EIRP" in words
    assert "13.979 dBm ERP" in words
    assert "30 dBm conducted" in words
