"""Rows of a list that are changed and deleted where they stand, for browsers that run the script."""

import pytest

from showplan.records.models import Wall
from tests.frontend.editing.desk import fill_in, forms_of
from tests.frontend.pages import words_of

pytestmark = pytest.mark.django_db


def test_a_row_is_changed_where_it_stands(tour, desk, lists):
    wall = Wall.objects.get(label="W1")
    address = f"{lists['walls']}{wall.pk}/"
    part = desk.get(address, headers={"HX-Request": "true"})
    assert "<html" not in part.content.decode()
    fields = forms_of(part)[0]["fields"]
    answer = desk.post(address, {**fields, "height_m": "2.5"}, headers={"HX-Request": "true"})
    assert answer.status_code == 200
    assert "2.5" in words_of(answer)
    assert "<form" not in answer.content.decode()
    wall.refresh_from_db()
    assert wall.height_m == 2.5


def test_a_conflict_takes_the_whole_page(tour, desk, lists):
    wall = Wall.objects.get(label="W1")
    address = f"{lists['walls']}{wall.pk}/"
    fields = forms_of(desk.get(address))[0]["fields"]
    fill_in(desk, address, height_m="2")
    answer = desk.post(address, {**fields, "height_m": "3"}, headers={"HX-Request": "true"})
    assert (answer.status_code, answer["HX-Retarget"]) == (200, "#main")
    assert "Keep theirs" in words_of(answer)


def test_a_deleted_row_leaves_nothing(tour, desk, lists):
    wall = Wall.objects.get(label="W1")
    address = f"{lists['walls']}{wall.pk}/delete/"
    fields = forms_of(desk.get(address, headers={"HX-Request": "true"}))[0]["fields"]
    answer = desk.post(address, fields, headers={"HX-Request": "true"})
    assert (answer.status_code, answer.content) == (200, b"")
    assert not Wall.objects.filter(pk=wall.pk).exists()
