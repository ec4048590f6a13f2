"""From records to Scene: constant queries, and a fingerprint that depends on the facts alone."""

import io
import json

import pytest
from django.core.management import call_command
from django.db import connection
from django.test.utils import CaptureQueriesContext

from showplan.planner.readiness import plan
from showplan.planner.scene_file import fingerprint, read
from showplan.records.models import Project, User, Venue
from showplan.services.editing import edit
from showplan.services.planning import plan_venue
from showplan.services.scenes import build_scene
from tests.tours import a_kit, a_project, a_tour, a_user, a_venue, by, place_all

pytestmark = pytest.mark.django_db


@pytest.fixture
def owner() -> User:
    return a_user()


def test_the_number_of_queries_is_the_same_for_10_and_200_nodes(owner: User) -> None:
    queries = {}
    for size in (10, 200):
        venue = Venue.objects.select_related("project").get(pk=a_tour(owner, size - 2, f"Tour of {size}").pk)
        with CaptureQueriesContext(connection) as captured:
            scene = build_scene(venue)
        assert len(scene.nodes) == size
        queries[size] = [query["sql"][:90] for query in captured]
    assert len(queries[10]) == len(queries[200]), "\n".join(queries[200])


def test_the_order_of_entry_does_not_matter(owner: User) -> None:
    """The same tour, entered in another order in another project of the same name, has the same fingerprint."""
    first = a_tour(owner)
    project = a_project(owner)
    nodes = a_kit(project, owner)
    venue = a_venue(project, owner)
    by_place = dict(zip(nodes, range(len(nodes)), strict=True))
    level = venue.levels.get()
    placed = place_all(venue, owner, nodes)
    with edit(project, by(owner)) as change:
        for placement in placed:
            change.delete(placement)
    for node in reversed(nodes):
        at = by_place[node]
        with edit(project, by(owner)) as change:
            change.create(
                [type(placed[0])(venue=venue, node=node, level=level, x_m=2 + 3.5 * at, y_m=18, height_m=1.5)]
            )
    assert fingerprint(build_scene(venue)) == fingerprint(build_scene(first))


def test_the_file_plans_like_the_venue(owner: User, tmp_path) -> None:
    venue = a_tour(owner)
    path = tmp_path / "scene.json"
    call_command("scene", venue.name, output=str(path))
    scene = read(path.read_text())
    planned = plan_venue(venue)
    assert fingerprint(scene) == planned.plan.fingerprint
    assert plan(scene).findings == planned.plan.findings


def test_plan_command_reads_the_file_without_a_database(owner: User, tmp_path) -> None:
    path = tmp_path / "scene.json"
    venue = a_tour(owner)
    call_command("scene", str(venue.pk), output=str(path))
    out = io.StringIO()
    with CaptureQueriesContext(connection) as queries:
        call_command("plan", str(path), json=True, stdout=out)
    assert len(queries) == 0
    printed = json.loads(out.getvalue())
    assert printed["fingerprint"] == plan_venue(venue).plan.fingerprint
    assert [finding["code"] for finding in printed["findings"]] == [f.code for f in plan_venue(venue).plan.findings]


def test_plan_command_says_every_fault_and_exits_with_2(owner: User, tmp_path) -> None:
    path = tmp_path / "scene.json"
    call_command("scene", a_tour(owner).name, output=str(path))
    document = json.loads(path.read_text())
    document["walls"][0]["height_m"] = -2
    document["walls"][1]["colour"] = "red"
    path.write_text(json.dumps(document))
    err = io.StringIO()
    with pytest.raises(SystemExit) as caught:
        call_command("plan", str(path), stderr=err)
    assert caught.value.code == 2
    lines = err.getvalue().strip().splitlines()
    assert len(lines) == 2
    assert all("/walls/" in line for line in lines)


def test_readiness_command_prints_each_question_of_each_venue(owner: User) -> None:
    a_tour(owner)
    out = io.StringIO()
    call_command("readiness", stdout=out, findings=True)
    text = out.getvalue()
    assert "Does every node hear the show?" in text
    assert "Corn hall" in text
    assert Project.objects.get().name in text


# Of `a_tour` as it stands in tests/tours.py. It changes with the Scene's form, which is then a change to be told in the
# change notes; it may not change with the database, the machine or the day.
FINGERPRINT_OF_A_TOUR = "13a0fbd1a0ce47d299535d390699f7c8ebd9b91db7ddde3be506d5039a448e6f"


def test_the_same_tour_has_one_fingerprint_on_every_database(owner: User) -> None:
    assert fingerprint(build_scene(a_tour(owner))) == FINGERPRINT_OF_A_TOUR
