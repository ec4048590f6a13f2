"""Demands of single nodes and zones on the page of relays: added, changed, taken off, refused, and told again."""

import pytest

from showplan.records.models import Job
from tests.frontend.editing.desk import forged, forms_of, send
from tests.frontend.pages import signed_in, words_of
from tests.relay_jobs import add_sites, finished_job, infeasible_job

pytestmark = pytest.mark.django_db


@pytest.fixture
def address(tour, owner):
    """The page of a venue with three candidate sites."""
    add_sites(tour.venue, owner)
    return f"/venues/{tour.venue.pk}/relays/"


def _row(number, name="", least="", margin_db=""):
    """The fields of one row as a browser sends them."""
    values = {"name": name, "least_delivery": least, "extra_margin_db": margin_db}
    return {f"demand_{part}_{number}": value for part, value in values.items()}


def _typed(page):
    """What stands in the rows of a page, by field."""
    return {name: value for name, value in _form(page)["fields"].items() if name.startswith("demand_")}


def _form(page):
    return forms_of(page)[_number_of_form(page)]


def _number_of_form(page):
    return next(n for n, form in enumerate(forms_of(page)) if form["fields"].get("do") == "start")


def _send(client, page, address, **fields):
    return send(client, page, address, nth=_number_of_form(page), **fields)


def test_demands_reach_the_job_and_come_back_with_it(address, owner):
    client = signed_in(owner)
    page = client.get(address)
    assert _typed(page) == _row(0)
    rows = _row(0, "Stage", "0.95", "2.5") | _row(1) | _row(2, " N2 ", "0.6")
    assert _send(client, page, address, **rows).status_code == 302
    asked = [
        {"name": "Stage", "least_delivery": 0.95, "extra_margin_db": 2.5},
        {"name": "N2", "least_delivery": 0.6, "extra_margin_db": 0.0},
    ]
    assert Job.objects.get().parameters["demands"] == asked
    again = client.get(address)
    assert _typed(again) == _row(0, "Stage", "0.95", "2.5") | _row(1, "N2", "0.6", "0")
    changed = _row(0) | _row(1, "N2", "0.7", "")
    assert _send(client, again, address, **changed).status_code == 302
    assert Job.objects.first().parameters["demands"] == [asked[1] | {"least_delivery": 0.7}]


def test_a_row_more_and_a_row_less_lose_nothing_and_start_nothing(address, owner):
    client = signed_in(owner)
    typed = _row(0, "Stage", "nearly all") | {"most_hops": "many"}
    more = _send(client, client.get(address), address, another_demand="1", **typed)
    assert more.status_code == 200
    assert _typed(more) == _row(0, "Stage", "nearly all") | _row(1)
    assert _form(more)["fields"]["most_hops"] == "many"
    assert "Enter a" not in words_of(more)  # a draft is not judged
    assert more.content.count(b"autofocus") == 1
    third = _send(client, more, address, another_demand="1", **_row(1, "N2", "0.9"))
    less = _send(client, third, address, take_off_demand="0")
    assert _typed(less) == _row(1, "N2", "0.9") | _row(2)
    none = _send(client, _send(client, less, address, take_off_demand="1"), address, take_off_demand="2")
    assert _typed(none) == {}
    assert _send(client, none, address, take_off_demand="no such row").status_code == 200
    assert not Job.objects.exists()
    assert _send(client, none, address, most_hops="4").status_code == 302
    assert Job.objects.get().parameters["demands"] == []


def test_faults_stand_beside_their_fields(address, owner):
    client = signed_in(owner)
    page = client.get(address)
    for rows, field, fault in (
        (_row(0) | _row(3, "Nobody", "0.9"), "name_3", "There is no node or zone &#x27;Nobody&#x27; here."),
        (_row(0, "N0", "0.9"), "name_0", "no receiver here that is called &#x27;N0&#x27;"),
        (_row(0, "N2", "0.9") | _row(1, "N2", "0.8"), "name_1", "has a demand already, number 1: give each"),
        (_row(0, "", "0.9"), "name_0", "Is missing."),
        (_row(0) | _row(1, "N2", "", "3"), "least_delivery_1", "Is missing."),
        (_row(0, "N2", "95"), "least_delivery_0", "Must be less than 1, not 95.0."),
        (_row(0, "N2", "0.9", "-1"), "extra_margin_db_0", "Must be greater than or equal to 0, not -1.0."),
        (_row(0, "N2", "0.9", "some"), "extra_margin_db_0", "Enter a number."),
    ):
        response = _send(client, page, address, **rows)
        assert response.status_code == 409, rows
        html = response.content.decode()
        told = html.index(f'id="wish_demand_{field}_error"')
        assert fault in html[told : html.index("</div>", told)], rows
        assert html.count('class="fault"') == 1, rows
        assert {name: value for name, value in rows.items() if value}.items() <= _typed(response).items()
        assert '<details class="wish-group whole-width" id="own-demands" open>' in html
    assert not Job.objects.exists()


def test_fields_that_no_browser_sends_are_no_trouble(address, owner):
    client = signed_in(owner)
    fields = _form(client.get(address))["fields"]
    for odd in ({"demand_name_99999": "N2"}, {"demand_name_x": "N2"}, {"demand_least_delivery_7": "0.9"}):
        assert forged(client, address, **{**fields, **odd}).status_code == 302
        assert Job.objects.get().parameters["demands"] == []


def test_the_names_to_choose_from_are_those_that_a_demand_may_have(tour, address, owner):
    html = signed_in(owner).get(address).content.decode()
    offered = html[html.index('<datalist id="demand_names">') : html.index("</datalist>")]
    assert [name in offered for name in ('"Stage"', '"N2"', '"N0"', '"N1"')] == [True, True, False, False]
    assert "may stay empty" not in html[html.index('id="own-demands"') : html.index("</datalist>")]


def test_the_answer_tells_the_demands(tour, owner, viewer, address):
    demands = [{"name": name, "least_delivery": 0.99, "extra_margin_db": 6.0} for name in ("Stage", "N2")]
    finished_job(tour.venue, owner, ["Left truss"], demands=demands)
    words = words_of(signed_in(viewer).get(address))
    assert "Every hop to Stage, N2 must deliver at least 99 % and keep the fade margin and 6 dB more." in words
    assert "Every hop to all other nodes must deliver at least 50 % and keep the fade margin." in words
    infeasible_job(tour.venue, owner, most_relays=1, demands=demands[:1])
    assert "Every hop to Stage must deliver at least 99 %" in words_of(signed_in(viewer).get(address))
    finished_job(tour.venue, owner, ["Left truss"])
    assert "Every hop to" not in words_of(signed_in(viewer).get(address))
