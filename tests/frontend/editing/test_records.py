"""Lists, forms and deletion of every noun."""

import re

import pytest

from showplan.records.models import Crew, Level, Load, Node, NodeType, OwnPhy, Placement, Supply, Wall, Zone
from showplan.services.editing import edit
from showplan.services.nouns import NOUNS
from tests.builders import show_tour
from tests.frontend.editing.desk import fill_in, forged, forms_of, send
from tests.frontend.pages import words_of
from tests.tours import by

pytestmark = pytest.mark.django_db


def test_every_noun_has_a_list_with_its_records_and_a_form_with_plain_labels(tour, desk, lists):
    for noun in NOUNS:
        page = desk.get(lists[noun.path])
        assert page.status_code == 200, noun.path
        for record in noun.within(tour.venue if noun.parent == "venue" else tour.project)[:3]:
            assert str(record.pk) in page.content.decode(), noun.path
        form = desk.get(f"{lists[noun.path]}new/")
        assert form.status_code == 200, noun.path
        for field in noun.fields:
            assert f'name="{field.name}"' in form.content.decode(), f"{noun.path}.{field.name}"
        assert "_" not in words_of(form), noun.path


def test_an_empty_list_says_so(tour, desk, lists):
    assert "No reading yet. Add the first one." in words_of(desk.get(lists["readings"]))


def test_a_new_wall_is_written_by_the_services(tour, desk, lists):
    hall = tour.venue.levels.get(name="Hall")
    facts = {"start_x_m": "1", "start_y_m": "1", "end_x_m": "1", "end_y_m": "9.5", "height_m": "3", "level": hall.pk}
    answer = fill_in(desk, f"{lists['walls']}new/", label="W9", material="brick-200", **facts)
    assert (answer.status_code, answer.url) == (302, lists["walls"])
    wall = Wall.objects.get(label="W9")
    assert (wall.end_y_m, wall.base_m, wall.version) == (9.5, 0.0, 1)
    words = words_of(desk.get(answer.url))
    assert "Wall W9 is saved." in words
    assert tour.project.changes.first().via == "page"


def test_another_can_be_added_at_once(desk, lists):
    answer = fill_in(desk, f"{lists['crews']}new/", name="Wardrobe", another="yes")
    assert answer.url == f"{lists['crews']}new/"


def test_faults_stand_beside_their_fields_and_nothing_typed_is_lost(tour, desk, lists):
    count = Wall.objects.count()
    hall = tour.venue.levels.get(name="Hall")
    facts = {"start_x_m": "1", "start_y_m": "1", "end_x_m": "99", "end_y_m": "9,5", "height_m": "3", "level": hall.pk}
    page = fill_in(desk, f"{lists['walls']}new/", label="W9", material="brick-200", **facts)
    assert page.status_code == 200
    assert "Enter a number." in words_of(page)
    assert forms_of(page)[0]["fields"]["end_y_m"] == "9,5"
    page = send(desk, page, f"{lists['walls']}new/", end_y_m="9.5")
    words = words_of(page)
    assert "lies off level" in words
    assert forms_of(page)[0]["fields"]["end_x_m"] == "99"
    assert 'aria-invalid="true"' in page.content.decode()
    assert Wall.objects.count() == count


def test_a_fault_names_fields_as_the_form_does(tour, desk, lists):
    node = Node.objects.get(label="Spare")
    hall = tour.venue.levels.get(name="Hall")
    page = fill_in(desk, f"{lists['placements']}new/", node=node.pk, level=hall.pk, height_m="1")
    words = words_of(page)
    assert "x_m" not in words
    assert "Give “x, to the right (m)” and “y, up the plan (m)”, or the zone in which the node moves." in words


def test_a_changed_zone_keeps_its_corners_as_numbers(tour, desk, lists):
    zone = Zone.objects.get(name="Stage")
    address = f"{lists['zones']}{zone.pk}/"
    assert forms_of(desk.get(address))[0]["fields"]["corners_m"] == "2, 2\n10, 2\n10, 8\n2, 8"
    assert fill_in(desk, address, corners_m="2 2\n10 2\n10 8.5").status_code == 302
    zone.refresh_from_db()
    assert (zone.corners_m, zone.version) == ([[2, 2], [10, 2], [10, 8.5]], 2)
    page = fill_in(desk, address, corners_m="2 2\nfar\n10 8.5")
    assert "Line 2 is not two numbers: far" in words_of(page)


def test_saving_an_unchanged_form_of_each_noun_changes_nothing(tour, desk, lists):
    revision = tour.project.revision
    for noun in NOUNS:
        record = noun.within(tour.venue if noun.parent == "venue" else tour.project).first()
        if record is not None:
            answer = fill_in(desk, f"{lists[noun.path]}{record.pk}/")
            assert answer.status_code == 302, f"{noun.path}: {words_of(answer)}"
            record.refresh_from_db()
            assert record.version == 1, noun.path
    tour.project.refresh_from_db()
    assert tour.project.revision == revision


def test_references_are_chosen_from_this_project_only(tour, desk, lists, owner):
    other = show_tour(owner, name="Another tour")
    foreign = NodeType.objects.get(project=other.project)
    address = f"{lists['nodes']}new/"
    assert str(foreign.pk) not in desk.get(address).content.decode()
    page = fill_in(desk, address, label="X", role="receiver", node_type=foreign.pk)
    assert "Choose one from the list." in words_of(page)
    assert not Node.objects.filter(label="X").exists()


def test_own_phys_of_this_project_are_chosen_beside_the_table(tour, desk, lists, owner):
    facts = {"band_low_mhz": 868.0, "band_high_mhz": 868.6, "first_centre_mhz": 868.3, "bandwidth_mhz": 0.25}
    rates = {"bit_rate_kbps": 100.0, "sensitivity_dbm": -102.0}
    foreign = show_tour(owner, receivers=1, name="Another show")
    for project, key in ((tour.project, "workshop-868"), (foreign.project, "theirs")):
        with edit(project, by(owner)) as change:
            change.create([OwnPhy(project=project, key=key, **facts, **rates)])
    for path in ("networks", "node-types"):
        for page in (desk.get(f"{lists[path]}new/"), desk.get(lists[path])):  # the form, and the filter of the list
            assert 'value="workshop-868"' in page.content.decode(), path
            assert 'value="oqpsk-2450"' in page.content.decode(), path
            assert "theirs" not in page.content.decode(), path
    answer = fill_in(desk, f"{lists['networks']}new/", name="Slow", phy="workshop-868", radio_channel="0", pan_id="9")
    assert answer.status_code == 302
    assert "workshop-868" in words_of(desk.get(lists["networks"], {"phy": "workshop-868"}))
    forged_page = fill_in(desk, f"{lists['networks']}new/", name="Slower", phy="theirs", radio_channel="0", pan_id="8")
    assert "Choose one from the list." in words_of(forged_page)
    phy = OwnPhy.objects.get(key="workshop-868")
    page = desk.get(f"{lists['own-phys']}{phy.pk}/delete/")
    assert "network Slow" in words_of(page)
    refused = fill_in(desk, f"{lists['own-phys']}{phy.pk}/", key="other")
    assert "is still used by network Slow" in words_of(refused)


def test_deleting_says_what_goes_and_what_stays(tour, desk, lists):
    level = Level.objects.get(name="Hall")
    address = f"{lists['levels']}{level.pk}/delete/"
    words = words_of(desk.get(address))
    assert "2 walls : W1, W2" in words
    assert "1 zone" in words
    assert "placements" in words
    assert fill_in(desk, address).url == lists["levels"]
    assert not Placement.objects.filter(level_id=level.pk).exists()


def test_what_is_still_needed_is_not_deleted(tour, desk, lists):
    sort = NodeType.objects.get(project=tour.project)
    page = desk.get(f"{lists['node-types']}{sort.pk}/delete/")
    assert "is still used by" in words_of(page)
    answer = forged(desk, f"{lists['node-types']}{sort.pk}/delete/", version="1")
    assert answer.status_code == 200
    assert NodeType.objects.filter(pk=sort.pk).exists()


def test_deleting_what_somebody_changed_is_refused(tour, desk, lists):
    wall = Wall.objects.get(label="W1")
    page = desk.get(f"{lists['walls']}{wall.pk}/delete/")
    fill_in(desk, f"{lists['walls']}{wall.pk}/", height_m="2")
    answer = send(desk, page, f"{lists['walls']}{wall.pk}/delete/")
    assert "changed meanwhile" in words_of(answer)
    assert Wall.objects.filter(pk=wall.pk).exists()


def test_filters_narrow_a_list(tour, desk, lists):
    page = desk.get(lists["nodes"], {"role": "gateway"})
    assert "N0" in words_of(page)
    assert "Walker" not in words_of(page)
    assert "Show all" in words_of(page)
    assert "Walker <1>" in words_of(desk.get(lists["nodes"], {"is_worn": "yes"}))
    assert "None of the nodes is like that." in words_of(desk.get(lists["nodes"], {"label": "no such"}))


def test_a_long_list_goes_on_by_its_last_record(tour, desk, lists, owner):
    with edit(tour.project, by(owner)) as change:
        change.create([Crew(project=tour.project, name=f"Crew {i:03d}") for i in range(60)])
    page = desk.get(lists["crews"])
    assert "Crew 010" in words_of(page)
    assert "Crew 059" not in words_of(page)
    address = page.context["more_address"]
    assert "Crew 059" in words_of(desk.get(address))
    rows = desk.get(address, headers={"HX-Request": "true"}).content.decode()
    assert "Crew 059" in rows
    assert "<html" not in rows
    assert desk.get(f"{lists['crews']}?after=Crew&after_id=nonsense").status_code == 200


def _open_headings(page):
    """Headings of a long form, with whether they stand open."""
    found = re.findall(r'<details class="field-group"( open)?><summary>([^<]*)', page.content.decode())
    return {heading: bool(is_open) for is_open, heading in found}


def test_a_long_form_opens_where_something_is_to_be_seen(tour, desk, lists):
    cable, feeding, current = "Cable and fuse", "How the tape is fed", "How it takes current"
    assert _open_headings(desk.get(f"{lists['loads']}new/")) == {cable: True, feeding: False, current: False}
    load = Load.objects.filter(node__project=tour.project)[0]
    address = f"{lists['loads']}{load.pk}/"
    assert not _open_headings(desk.get(address))[feeding]
    page = fill_in(desk, address, feeding="points")
    assert "A tape fed at points needs at least one." in words_of(page)
    assert _open_headings(page) == {cable: True, feeding: True, current: False}
    page = fill_in(desk, address, feeding="points", feed_points_m="0.1 x")
    assert "Not a number of metres: x" in words_of(page)
    assert fill_in(desk, address, feeding="points", feed_points_m="0.1 0.4").status_code == 302
    load.refresh_from_db()
    assert load.feed_points_m == [0.1, 0.4]
    assert forms_of(desk.get(address))[0]["fields"]["feed_points_m"] == "0.1 0.4"


def test_a_chemistry_that_no_table_has_is_shown_and_not_lost(tour, desk, lists):
    supply = Supply.objects.filter(project=tour.project)[0]
    Supply.objects.filter(pk=supply.pk).update(chemistry="lead gel, workshop")
    address = f"{lists['supplies']}{supply.pk}/"
    assert forms_of(desk.get(address))[0]["fields"]["chemistry"] == "lead gel, workshop"
    refused = fill_in(desk, address, packs="3")
    assert "is not in the table of battery" in words_of(refused)
    assert fill_in(desk, address, packs="3", chemistry="lead-acid").status_code == 302
