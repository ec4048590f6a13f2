"""The layers of the coverage, the states of the house, zones, and the numbers behind the picture."""

import io
import json
import re

import numpy as np
import pytest
from PIL import Image

from frontend.present.coverage import cell_values
from frontend.present.legend import legend_rows
from frontend.present.words import percent
from showplan.records.models import CrowdArea, Level
from showplan.services.editing import edit
from showplan.services.pictures import DELIVERY_CLASSES, MARGIN_CLASSES, class_shares, coverage_png, level_coverage
from showplan.services.planning import plan_venue
from tests.frontend.pages import signed_in, words_of
from tests.tours import by

pytestmark = pytest.mark.django_db
A_TENTH_DB, A_THOUSANDTH = 0.05001, 0.00051


@pytest.fixture
def found(tour):
    """Coverage of the hall by gateway and relay."""
    return level_coverage(plan_venue(tour.venue), "Hall", "Show")


@pytest.fixture
def crowded(tour, owner):
    """The tour with an audience on the hall's floor."""
    with edit(tour.project, by(owner)) as change:
        hall = Level.objects.get(venue=tour.venue, name="Hall")
        outline = [[12, 1], [38, 1], [38, 14], [12, 14]]
        change.create([CrowdArea(level=hall, label="Stalls", corners_m=outline, loss_db_per_m=2.0)])
    return tour


@pytest.fixture
def get(tour, owner):
    """GET of one of the venue's addresses with a query."""
    client = signed_in(owner)
    return lambda path="", **query: client.get(f"/venues/{tour.venue.pk}/{path}", query)


def _colours(content: bytes) -> set[str]:
    pixels = np.asarray(Image.open(io.BytesIO(content)).convert("RGB")).reshape(-1, 3)
    return {"#{:02x}{:02x}{:02x}".format(*colour) for colour in np.unique(pixels, axis=0)}


@pytest.mark.parametrize("layer", ["margin", "second", "delivery"])
def test_each_layer_is_drawn_in_the_classes_its_cells_are_in(found, layer):
    classes = DELIVERY_CLASSES if layer == "delivery" else MARGIN_CLASSES
    shares = class_shares(found, layer)
    drawn = _colours(coverage_png(found, 40.0, 20.0, layer))
    assert {one.colour for one in classes if shares[one.key]} == drawn & {one.colour for one in classes}
    assert sum(shares.values()) == pytest.approx(1.0)


def test_without_the_best_sender_no_spot_is_served_better(found):
    assert (found.second_margin_db() <= found.best_margin_db()).all()
    assert class_shares(found, "second")["none"] >= class_shares(found)["none"]


def test_with_one_sender_nothing_is_left_when_it_dies(tour, get):
    alone = level_coverage(plan_venue(tour.venue), "Hall", "Show", "N0")
    assert class_shares(alone, "second")["none"] == 1.0
    assert cell_values(alone)["second_db"] is None
    assert "There is only one sender here: when it dies, nothing is served." in words_of(
        get(sender="N0", layer="second")
    )


@pytest.mark.parametrize(
    ("share", "words"),
    [(0.0, "0 %"), (0.0001, "under 0.1 %"), (0.5, "50 %"), (0.9876, "98.8 %"), (0.9999, "over 99.9 %"), (1.0, "100 %")],
)
def test_a_share_is_never_rounded_to_nothing_or_everything(share, words):
    assert percent(share) == words


def test_the_legend_says_each_layer_in_words_and_numbers(get):
    margin, second, delivery = (words_of(get(layer=layer)) for layer in ("margin", "second", "delivery"))
    assert "not served under 0 dB" in margin
    assert "Picture: margin left when the best sender of each spot dies" in second
    assert "mostly lost under 50 %" in delivery
    for text in ("poor 50 to 90 %", "fair 90 to 99 %", "good 99 to 99.9 %", "very good 99.9 % and more"):
        assert text in delivery
    assert "Links: margin above the fade margin of 10 dB" in delivery


def test_shares_in_the_legend_are_those_of_the_layer(found):
    for layer in ("margin", "second", "delivery"):
        shares = class_shares(found, layer)
        assert [row.share for row in legend_rows(found, layer)] == [percent(shares[key]) for key in reversed(shares)]


def test_the_choice_is_carried_from_link_to_link(get):
    html = get(sender="N1", layer="delivery").content.decode()
    assert "?network=Show&amp;sender=N1&amp;layer=delivery&amp;level=Gallery#plan" in html
    assert "coverage.png?level=Hall&amp;network=Show&amp;sender=N1&amp;layer=delivery" in html
    assert 'aria-current="true">delivery</a>' in html


def test_zones_are_listed_with_what_is_served_of_them(get, found):
    [share] = found.zone_shares
    expected = f"Stage {percent(share.served)} {percent(share.mean_delivery)} {percent(share.worst_delivery)}"
    assert expected in words_of(get())


def test_nodes_and_links_say_their_delivery(get, tour):
    route = plan_venue(tour.venue).plan.route_to("N7")
    assert route is not None
    response = get()
    assert f"{' – '.join(route.nodes)} {route.margin_db:.1f} dB" in words_of(response).replace("−", "-")
    assert f">{percent(route.delivery)}</td>" in response.content.decode()
    assert "dB, delivery " in response.content.decode()


def test_the_house_is_only_offered_where_it_differs(get):
    assert 'aria-label="House"' not in get().content.decode()
    assert get(house="full").status_code == 200
    response = get(house="upside-down")
    assert response.status_code == 404
    assert "The house is empty or full, not 'upside-down'." in words_of(response)


def test_a_full_house_is_shown_unless_the_empty_one_is_asked_for(crowded, get):
    full, empty = get(), get(house="empty")
    assert "house full" in words_of(full)
    assert "house empty" in words_of(empty)
    assert "coverage.png?level=Hall&amp;network=Show&amp;house=empty" in empty.content.decode()
    assert get("coverage.png").content != get("coverage.png", house="empty").content
    with_people, without = (get("coverage.json", house=house).json()["margin_db"] for house in ("full", "empty"))
    assert all(one <= other for one, other in zip(with_people, without, strict=True))
    assert with_people != without


def test_a_finding_of_one_state_names_it(crowded, get):
    plan = plan_venue(crowded.venue).plan
    words = words_of(get())
    for finding in plan.findings:
        assert finding.sentence in words
        assert not finding.house or f"With the house {finding.house}: " in finding.sentence


def test_crowd_areas_are_drawn_and_explained(crowded, get):
    response = get()
    html = response.content.decode()
    assert "<title>crowd area Stalls</title>" in html
    assert '"crowds": [{"name": "Stalls"' in html
    assert "crowd area: the audience when the house is full" in words_of(response)


def test_the_values_are_those_of_the_cells(get, found):
    values = get("coverage.json").json()
    assert (values["columns"], values["rows"], values["step_m"]) == (80, 40, 0.5)
    assert values["corner_m"] == [0.0, 0.0]
    assert values["senders"] == list(found.transmitters)
    shape = (values["rows"], values["columns"])
    for key, cells, within in (
        ("margin_db", found.best_margin_db(), A_TENTH_DB),
        ("second_db", found.second_margin_db(), A_TENTH_DB),
        ("delivery", found.best_delivery(), A_THOUSANDTH),
    ):
        np.testing.assert_allclose(np.reshape(values[key], shape), cells, atol=within, err_msg=key)
    server = np.reshape(values["server"], shape)
    np.testing.assert_array_equal(server, found.margin_db.argmax(axis=0))


def test_the_script_is_told_layer_house_and_classes(crowded, get):
    page = get(layer="delivery", house="empty").content.decode()
    reading = json.loads(re.search(r'id="plan-data"[^>]*>(.*?)</script>', page)[1])["coverage"]["reading"]
    assert (reading["layer"], reading["house"]) == ("delivery", "empty")
    assert [one["low"] for one in reading["margin_classes"]] == [one.low_db for one in MARGIN_CLASSES]
    assert [one["words"] for one in reading["delivery_classes"]] == [one.words for one in DELIVERY_CLASSES]


def test_the_files_hold_the_same_coverage(get, found):
    table, archive = get("coverage.csv"), get("coverage.npz")
    assert table["Content-Type"].startswith("text/csv")
    assert 'filename="coverage-hall-show-house-empty.csv"' in table["Content-Disposition"]
    assert len(table.content.decode().splitlines()) == 1 + found.margin_db[0].size
    loaded = np.load(io.BytesIO(archive.content))
    np.testing.assert_array_equal(loaded["margin_db"], found.margin_db)


@pytest.mark.parametrize("ending", ["png", "json", "csv", "npz"])
def test_what_the_browser_has_is_not_sent_again(get, tour, owner, ending):
    first = get(f"coverage.{ending}")
    address = f"/venues/{tour.venue.pk}/coverage.{ending}"
    again = signed_in(owner).get(address, headers={"If-None-Match": first["ETag"]})
    assert (again.status_code, again.content) == (304, b"")
    assert get(f"coverage.{ending}", layer="nonsense").status_code == 404
