"""Facts on power and the show day as records: what both doors refuse, and how they come into the Scene."""

import dataclasses
import json
from typing import Any

import pytest
from django.db import IntegrityError, connection, transaction
from django.test.utils import CaptureQueriesContext

from showplan.planner import scene_power
from showplan.planner.faults import SceneError
from showplan.planner.scene import Scene
from showplan.planner.scene_file import as_document, fingerprint, read, write
from showplan.planner.scene_show import Timeline
from showplan.records.guards import read_guard_message
from showplan.records.models import Load, PartLevel, Project, ShowPart, ShowTimeline, Supply, User, Venue
from showplan.services.editing import edit
from showplan.services.errors import InvalidInput
from showplan.services.exchange import as_text, import_project, parse, project_document
from showplan.services.exchange.table_export import table_of
from showplan.services.exchange.table_import import import_table
from showplan.services.history import undo_revision
from showplan.services.nouns import by_path
from showplan.services.record_writing import Update, create_record, update_record
from showplan.services.rights import Caller
from showplan.services.scenes import build_scene
from tests.scenes import hall
from tests.tours import a_kit, a_project, a_tour, a_user, by

pytestmark = pytest.mark.django_db
LOADS, PARTS, LEVELS = by_path()["loads"], by_path()["show-parts"], by_path()["part-levels"]
POINTS = {"length_m": 2.0, "feeding": "points"}
# (the record's kind, what is set, the field at fault, a part of what is said). The Scene refuses the same, but for
# keys: it must be able to say what an older database holds, and the planner tells such a key as unknown.
CONTRADICTIONS: list[tuple[str, dict[str, Any], str, str]] = [
    ("venues", {"coldest_c": 31.0}, "coldest_c", "30"),
    ("venues", {"drop_warn_percent": 11.0}, "drop_warn_percent", "10"),
    ("supplies", {"kind": "mains", "cells": 4}, "cells", "only a battery"),
    ("supplies", {"kind": "mains", "converter_v": 12.0}, "converter_v", "only for a battery"),
    ("supplies", {"chemistry": "potato"}, "chemistry", "not in the table of battery_chemistries"),
    ("supplies", {"preset": "potato"}, "preset", "not in the table of battery_presets"),
    ("loads", {"preset": "potato"}, "preset", "not in the table of load_presets"),
    ("nodes", {"trunk_length_m": 1.0}, "trunk_area_mm2", "or neither"),
    ("nodes", {"trunk_area_mm2": 1.0}, "trunk_length_m", "or neither"),
    ("nodes", {"main_fuse_v": 32.0}, "main_fuse_v", "no fuse"),
    ("nodes", {"main_fuse_breaks_a": 1000.0}, "main_fuse_breaks_a", "no fuse"),
    ("loads", {"fuse_v": 32.0}, "fuse_v", "no fuse"),
    ("loads", {"fuse_breaks_a": 1000.0}, "fuse_breaks_a", "no fuse"),
    ("loads", {"dropout_v": 12.0}, "dropout_v", "below rated_v, 12"),
    ("loads", {"kind": "lamp", "feeding": "both-ends"}, "feeding", "only a tape"),
    ("loads", {**POINTS}, "feed_points_m", "at least one"),
    ("loads", {**POINTS, "feed_points_m": [0.5, 2.5]}, "feed_points_m", "from 0 to 2 m"),
    ("loads", {**POINTS, "feed_points_m": [1.0, 0.5]}, "feed_points_m", "ascend"),
    ("loads", {**POINTS, "feed_points_m": [1.0, 1.0]}, "feed_points_m", "ascend"),
    ("loads", {"feed_points_m": [0.1]}, "feed_points_m", "only a tape fed at points"),
    ("show-parts", {"kind": "gap", "level": 0.1}, "level", "nothing is on in a gap"),
    ("show-parts", {"kind": "gap", "timeline": "Act one"}, "timeline", "nothing is on in a gap"),
]
ROWS = "0,1,255"
ACT = {"name": "Act", "position": 3, "kind": "act", "minutes": 50.0}
FULL_SUPPLY: dict[str, Any] = {
    "preset": "lifepo4-4s-3", "chemistry": "lifepo4", "cells": 4, "nominal_v": 12.5, "capacity_ah": 2.5,
    "rated_hours": 20.0, "state_of_health": 0.7, "internal_resistance_ohm": 0.04, "current_limit_a": 6.0,
    "converter_v": 11.5, "converter_efficiency": 0.92, "isolation": "selv", "is_limited_power": True, "packs": 3,
    "chargers": 2, "charger_current_a": 1.25,
}  # fmt: skip
FULL_LOAD: dict[str, Any] = {
    "preset": "tape-24v-9.6", "behaviour": "led-string", "rated_v": 24.0, "dropout_v": 18.0, "length_m": 3.0,
    "tape_ohm_per_m": 0.07, "feeding": "points", "feed_points_m": [0.5, 2.5], "is_against_skin": True,
    "inrush_uf": 330.0, "cold_inrush_times": 10.0, "cables_together": 4, "fuse_a": 2.0, "fuse_class": "iec-quick",
    "fuse_v": 60.0, "fuse_breaks_a": 35.0, "fuse_mohm": 60.0,
}  # fmt: skip
FULL_NODE: dict[str, Any] = {
    "trunk_length_m": 0.4, "trunk_area_mm2": 1.5, "main_fuse_a": 7.5, "main_fuse_class": "ul", "main_fuse_v": 32.0,
    "main_fuse_breaks_a": 1000.0, "main_fuse_mohm": 11.0,
}  # fmt: skip
FULL_TYPE: dict[str, Any] = {
    "switch_on_mohm": 12.0, "switch_rated_drive_v": 4.5, "switch_threshold_v": 2.0, "drive_v": 5.0,
    "switch_k_per_w": 62.0, "switch_limit_c": 125.0, "switch_edge_us": 1.5, "dimming_hz": 600.0, "input_uf": 220.0,
}  # fmt: skip
FULL_VENUE: dict[str, Any] = {
    "coldest_c": -5.0, "warmest_c": 35.0, "is_wet": True, "reached_by_air": True, "drop_warn_percent": 4.0,
    "drop_stop_percent": 8.0,
}  # fmt: skip
FULL_PART = {**ACT, "level": 0.4, "may_change_packs": False, "timeline": "Act one"}


@pytest.fixture
def owner() -> User:
    return a_user()


@pytest.fixture
def caller(owner: User) -> Caller:
    return Caller(owner)


@pytest.fixture
def venue(owner: User) -> Venue:
    return a_tour(owner)


def _refused(write: Any) -> dict[str, str]:
    """Fields and what is said of them."""
    with pytest.raises(InvalidInput) as caught:
        write()
    return {fault.field: fault.message for fault in caught.value.faults}


def test_records_refuse_what_contradicts_itself(caller: Caller, venue: Venue) -> None:
    project = venue.project
    create_record(caller, PARTS, project, ACT)
    timeline = create_record(caller, by_path()["timelines"], project, {"name": "Act one", "rows": ROWS})
    for path, values, field, says in CONTRADICTIONS:
        noun = by_path()[path]
        if "timeline" in values:
            values = {**values, "timeline": timeline}
        record = noun.within(project)[0]
        told = _refused(lambda n=noun, r=record, v=values: update_record(caller, n, project, Update(r.pk, v)))
        assert says in told.get(field, ""), (path, values, told)


def test_the_scene_refuses_the_same(caller: Caller) -> None:
    part = scene_power.ShowPart(name="Act", position=3, kind="act", minutes=50.0)
    scene = hall(show_parts=(part,), timelines=(Timeline(name="Act one", rows=ROWS),))
    for path, values, field, says in CONTRADICTIONS:
        if "potato" in values.values():
            continue
        document = as_document(scene)
        here = document["venue"] if path == "venues" else document[path.replace("-", "_")][0]
        here.update(values)
        with pytest.raises(SceneError) as caught:
            read(json.dumps(document))
        [fault] = caught.value.faults
        assert says in fault.message, (values, fault)
        # Of two fields that belong together the Scene names their owner.
        assert fault.pointer.endswith(f"/{field}") or field.startswith("trunk_"), (values, fault)


def test_names_and_places_of_the_day_lead_somewhere() -> None:
    parts = tuple(
        scene_power.ShowPart(name=name, position=1, kind=kind, minutes=5.0)  # type: ignore[arg-type]
        for name, kind in (("Act", "act"), ("Gap", "gap"))
    )
    one = scene_power.PartLevel(part="Gap", load="L1", level=0.5)
    levels = (one, dataclasses.replace(one, part="None"), dataclasses.replace(one, part="Act", load="None"))
    with pytest.raises(SceneError) as caught:
        read(json.dumps(as_document(hall(show_parts=parts, part_levels=levels))))
    assert sorted(fault.pointer for fault in caught.value.faults) == [
        *("/part_levels/0/load", "/part_levels/1/level", "/part_levels/2/part", "/show_parts/1/position"),
    ]


def _fill(caller: Caller, venue: Venue) -> None:
    """Every new field with a value that is not its default."""
    project = venue.project
    with edit(project, caller.actor()) as change:
        change.update(venue, FULL_VENUE)
        node = project.nodes.get(label="N2")
        for record, values in ((node.node_type, FULL_TYPE), (node.supply, FULL_SUPPLY), (node, FULL_NODE)):
            change.update(record, values)
        load = project.loads.get(label="N2-1")
        change.update(load, FULL_LOAD)
        [timeline] = change.create([ShowTimeline(project=project, name="Act one", rows=ROWS)])
        [part] = change.create([ShowPart(project=project, **FULL_PART | {"timeline": timeline})])
        change.create([PartLevel(project=project, part=part, load=load, level=0.75)])


def _named(scene: Scene, collection: str, name: str) -> dict[str, Any]:
    [part] = (one for one in getattr(scene, collection) if getattr(one, "label", "") == name)
    return vars(part)


def test_the_scene_says_every_field_and_comes_back_the_same(caller: Caller, venue: Venue) -> None:
    plain = build_scene(venue)
    assert plain.show_parts == plain.part_levels == ()
    _fill(caller, venue)
    scene = build_scene(venue)
    part = scene_power.ShowPart(**FULL_PART)
    assert (scene.show_parts, scene.part_levels) == (
        (part,),
        (scene_power.PartLevel(part="Act", load="N2-1", level=0.75),),
    )
    filled = (
        (vars(scene.venue), FULL_VENUE), (vars(scene.node_type("Pocket")), FULL_TYPE),
        (_named(scene, "supplies", "B2"), FULL_SUPPLY), (_named(scene, "nodes", "N2"), FULL_NODE),
        (_named(scene, "loads", "N2-1"), {**FULL_LOAD, "feed_points_m": (0.5, 2.5)}),
    )  # fmt: skip
    for told, values in filled:
        assert {name: told[name] for name in values} == values
    # What nobody filled in has the Scene's own defaults.
    for collection, name, sort in (("supplies", "B3", scene_power.Supply), ("loads", "N3-1", scene_power.Load)):
        told = _named(scene, collection, name)
        usual = {field.name: field.default for field in dataclasses.fields(sort)}
        new = (FULL_SUPPLY if sort is scene_power.Supply else FULL_LOAD).keys()
        assert all(told[one] == usual[one] for one in new - {"nominal_v", "capacity_ah", "rated_v", "length_m"})
    assert fingerprint(read(write(scene))) == fingerprint(scene)
    text = as_text(project_document(venue.project))
    copy = import_project(caller, parse(text))
    assert as_text(project_document(copy)) == text
    assert fingerprint(build_scene(copy.venues.get())) == fingerprint(scene)


def test_a_part_comes_back_with_its_levels(caller: Caller, venue: Venue) -> None:
    _fill(caller, venue)
    project = venue.project
    with edit(project, caller.actor()) as change:
        change.delete(project.show_parts.get())
    assert not PartLevel.objects.exists()
    undo_revision(caller, project, project.revision)
    assert str(project.part_levels.get()) == "N2-1 in Act"


def test_parts_have_a_place_and_loads_one_level_each(caller: Caller, venue: Venue) -> None:
    project = venue.project
    part = create_record(caller, PARTS, project, ACT)
    gap = create_record(caller, PARTS, project, {**ACT, "name": "Gap", "position": 4, "kind": "gap"})
    load = project.loads.all()[0]
    create_record(caller, LEVELS, project, {"part": part, "load": load, "level": 0.5})
    told = _refused(lambda: create_record(caller, LEVELS, project, {"part": part, "load": load, "level": 0.2}))
    assert "in this part already" in told["load"]
    told = _refused(lambda: create_record(caller, PARTS, project, {**ACT, "name": "Again"}))
    assert "has this position" in told["position"]
    told = _refused(lambda: create_record(caller, LEVELS, project, {"part": gap, "load": load, "level": 0.2}))
    assert "'Gap' is a gap" in told["level"]
    # Only the database sees the levels when a part becomes a gap.
    assert _refused(lambda: update_record(caller, PARTS, project, Update(part.pk, {"kind": "gap"})))


def _guard_that_refused(write: Any) -> str:
    with pytest.raises(IntegrityError) as caught, transaction.atomic():
        write()
    found = read_guard_message(caught.value)
    return found[0] if found else "a check"


def test_the_database_refuses_past_the_services(venue: Venue, owner: User) -> None:
    project, other = venue.project, a_project(owner, "Another show")
    a_kit(other, owner, 1)
    part = ShowPart.objects.create(project=project, **ACT)
    gap = ShowPart.objects.create(project=project, **{**ACT, "name": "Gap", "position": 4, "kind": "gap"})
    load, foreign = project.loads.all()[0], other.loads.all()[0]
    make = PartLevel.objects.create
    PartLevel.objects.create(project=project, part=part, load=load, level=0.5)
    for wrong, name in (
        (lambda: make(project=project, part=part, load=foreign, level=0.5), "partlevel_load_same_project"),
        (lambda: make(project=other, part=part, load=foreign, level=0.5), "partlevel_part_same_project"),
        (lambda: make(project=project, part=gap, load=load, level=0.5), "partlevel_gap_is_dark"),
        (lambda: ShowPart.objects.filter(pk=part.pk).update(kind="gap"), "showpart_gap_is_dark"),
    ):
        assert _guard_that_refused(wrong) == name
    for model, change in (
        (Venue, {"coldest_c": 40.0}), (Venue, {"drop_warn_percent": 20.0}), (Supply, {"isolation": "glass"}),
        (Supply, {"kind": "mains", "cells": 3}), (Supply, {"state_of_health": 1.5}), (Supply, {"packs": 0}),
        (Load, {"behaviour": "moody"}), (Load, {"feeding": "middle"}), (Load, {"dropout_v": 12.0}),
        (Load, {"fuse_v": 32.0}), (Load, {"fuse_class": "wire"}), (ShowPart, {"kind": "encore"}),
        (ShowPart, {"minutes": 0.0}), (PartLevel, {"level": 1.5}),
    ):  # fmt: skip
        assert _guard_that_refused(lambda m=model, c=change: m.objects.update(**c)) == "a check", change


def test_a_day_of_many_parts_costs_as_many_queries(venue: Venue, owner: User) -> None:
    project, counts = venue.project, []
    loads = list(project.loads.all())
    for batch in range(2):
        parts = [ShowPart(project=project, **{**ACT, "name": f"{batch} {i}", "position": 10 * batch + i})
                 for i in range(4)]  # fmt: skip
        with edit(project, by(owner)) as change:
            change.create(parts)
            change.create([PartLevel(project=project, part=one, load=two, level=0.5) for one in parts for two in loads])
        fresh = Venue.objects.select_related("project").get(pk=venue.pk)
        with CaptureQueriesContext(connection) as captured:
            build_scene(fresh)
        counts.append(len(captured))
    assert counts[0] == counts[1]


def test_feed_points_are_one_cell_of_a_table(caller: Caller, venue: Venue) -> None:
    project: Project = venue.project
    header = "label,length_m,feeding,feed_points_m"
    report = import_table(caller, LOADS, project, f"{header}\nN2-1,2,points,0.5 1.5\nN2-2,1,,\n".encode())
    assert [(row.label, row.fields) for row in report.rows][:1] == [("N2-1", ("length_m", "feeding", "feed_points_m"))]
    assert project.loads.get(label="N2-1").feed_points_m == [0.5, 1.5]
    text = table_of(LOADS, project)
    assert ",0.5 1.5," in text
    assert import_table(caller, LOADS, project, text.encode()).rows == ()
