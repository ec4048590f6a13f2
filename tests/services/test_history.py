"""Undoing, below the API: what it reads, what it asks, what it refuses."""

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from showplan.records.models import Change, Crew, Level, Node, Project, User, Wall
from showplan.services.editing import edit
from showplan.services.errors import NotAllowed, NotFound, RuleBroken
from showplan.services.history import MODELS, RESTORE_ORDER, changes_of, undo_revision
from showplan.services.nouns import NOUNS
from showplan.services.rights import Caller
from tests.conftest import Tour
from tests.tours import a_tour, by

pytestmark = pytest.mark.django_db


def last_revision(project: Project) -> int:
    """The project's revision in the database."""
    return Project.objects.get(pk=project.pk).revision


def test_every_noun_can_be_undone_parents_before_children() -> None:
    assert {noun.model for noun in NOUNS} <= set(RESTORE_ORDER)
    for position, model in enumerate(RESTORE_ORDER):
        for field in model._meta.concrete_fields:
            target = field.related_model
            if target in RESTORE_ORDER and target is not model:
                assert RESTORE_ORDER.index(target) < position, f"{model.__name__} before {target.__name__}"
    assert set(MODELS) == {model.__name__ for model in RESTORE_ORDER} | {"Project"}


def test_an_edit_that_does_several_things_is_undone_whole(tour: Tour, owner: User) -> None:
    wall, level = Wall.objects.get(label="W1"), Level.objects.get(name="Hall")
    with edit(tour.project, by(owner)) as change:
        change.update(wall, {"height_m": 3.0})
        change.update(wall, {"height_m": 2.0, "base_m": 0.5})  # the same record twice
        change.create([Crew(project=tour.project, name="Rigging")])
        change.delete(Wall.objects.get(label="W2"))
    undo_revision(Caller(owner), tour.project, last_revision(tour.project))
    wall.refresh_from_db()
    assert (wall.height_m, wall.base_m) == (4.0, 0.0)
    assert set(level.walls.values_list("label", flat=True)) == {"W1", "W2"}
    assert not Crew.objects.filter(name="Rigging").exists()
    undo_revision(Caller(owner), tour.project, last_revision(tour.project))
    wall.refresh_from_db()
    assert (wall.height_m, wall.base_m) == (2.0, 0.5)
    assert set(level.walls.values_list("label", flat=True)) == {"W1"}
    assert Crew.objects.filter(name="Rigging").exists()


def test_a_refused_undo_leaves_no_trace(tour: Tour, owner: User) -> None:
    crew, wall = Crew.objects.get(project=tour.project), Wall.objects.get(label="W1")
    with edit(tour.project, by(owner)) as change:
        change.update(crew, {"name": "Wardrobe"})
        change.update(wall, {"height_m": 3.0})
    revision = last_revision(tour.project)
    with edit(tour.project, by(owner)) as change:
        change.update(crew, {"name": "Dress"})
    rows = Change.objects.count()
    with pytest.raises(RuleBroken, match=r"crew 'Dress' was changed again since \(name\)"):
        undo_revision(Caller(owner), tour.project, revision)
    wall.refresh_from_db()
    assert (wall.height_m, Change.objects.count(), last_revision(tour.project)) == (3.0, rows, revision + 1)


def test_a_guard_that_fires_is_a_refusal(tour: Tour, owner: User) -> None:
    """The restored wall would lie off the level, which shrank meanwhile."""
    wall, level = Wall.objects.get(label="W2"), Level.objects.get(name="Hall")
    with edit(tour.project, by(owner)) as change:
        change.delete(wall)
    revision = last_revision(tour.project)
    with edit(tour.project, by(owner)) as change:
        change.delete(Wall.objects.get(label="W1"))
        for placement in level.placements.all():
            change.delete(placement)
        change.update(Level.objects.get(pk=level.pk), {"depth_m": 10.0})
    with pytest.raises(RuleBroken, match=r"does not fit what is there now: end_x_m: .* lies off level 'Hall'"):
        undo_revision(Caller(owner), tour.project, revision)


def test_rights_and_unknown_revisions(tour: Tour, viewer: User, outsider: User, editor: User) -> None:
    with pytest.raises(NotAllowed):
        undo_revision(Caller(viewer), tour.project, 1)
    with pytest.raises(NotFound):
        undo_revision(Caller(outsider), tour.project, 1)
    with pytest.raises(NotFound, match="there is no revision 999"):
        undo_revision(Caller(editor), tour.project, 999)
    with pytest.raises(NotAllowed, match="this needs the role owner"):
        undo_revision(Caller(editor), tour.project, 1)  # it made the owner a member
    assert changes_of(tour.project).count() == Change.objects.count()


def test_undoing_a_bulk_change_asks_no_more_for_more_rows(owner: User) -> None:
    counts = []
    for receivers in (6, 12):
        venue = a_tour(owner, receivers, f"Tour of {receivers}")
        nodes = list(Node.objects.filter(project=venue.project).select_related("project", "node_type"))
        with edit(venue.project, by(owner)) as change:
            change.update_many([(node, {"note": "checked"}, None) for node in nodes])
        with CaptureQueriesContext(connection) as queries:
            undo_revision(Caller(owner), venue.project, last_revision(venue.project))
        counts.append(len(queries))
        assert not Node.objects.filter(project=venue.project, note="checked").exists()
    assert counts[0] == counts[1], counts
