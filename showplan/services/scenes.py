"""From records to a Scene: a fixed number of queries, whatever the size of the venue."""

import itertools
from collections.abc import Callable, Collection
from dataclasses import fields
from datetime import datetime
from functools import lru_cache
from typing import Any, TypeVar

from showplan.planner import scene as s
from showplan.planner import scene_power, scene_show, scene_traffic
from showplan.planner.faults import SceneError
from showplan.planner.scene_file import checked
from showplan.records.models import (
    CandidateSite,
    Feed,
    Load,
    Node,
    OwnPhy,
    Placement,
    Project,
    Reading,
    ShowPart,
    ShowTimeline,
    Traffic,
    Venue,
    Wall,
)
from showplan.services.errors import PlanImpossible

Part = TypeVar("Part")
PARTS_KEPT = 10_000  # of each kind, about 1 kB each


def build_scene(venue: Venue) -> s.Scene:
    """The frozen Scene of a venue. Raises PlanImpossible where records break a rule the planner needs."""
    try:
        return checked(_scene(venue))
    except SceneError as error:
        raise PlanImpossible(error.faults) from error


def _scene(venue: Venue) -> s.Scene:
    project = venue.project
    levels = list(venue.levels.prefetch_related("zones", "crowd_areas"))
    channels = dict(venue.channel_choices.values_list("network_id", "radio_channel"))
    return s.Scene(
        venue=_venue_facts(venue),
        levels=tuple(_level(level) for level in levels),
        walls=_parts(_wall, Wall.objects.filter(level__in=levels), *WALL),
        zones=tuple(_zone(zone, level.name) for level in levels for zone in level.zones.all()),
        crowd_areas=tuple(_crowd_area(area, level.name) for level in levels for area in level.crowd_areas.all()),
        candidate_sites=_parts(_site, CandidateSite.objects.filter(level__in=levels), *SITE),
        occupied_spectrum=tuple(_occupied(one) for one in venue.occupied_spectrum.all()),
        node_types=tuple(_node_type(one) for one in project.node_types.all()),
        own_phys=tuple(_own_phy(one) for one in project.own_phys.all()),
        networks=tuple(_network(one, channels.get(one.pk)) for one in project.networks.all()),
        traffics=tuple(_traffic(one) for one in project.traffics.select_related("network", "timeline")),
        timelines=tuple(_timeline(one) for one in project.timelines.all()),
        feeds=tuple(_feed(one) for one in project.feeds.select_related("network")),
        supplies=_parts(_supply, project.supplies, *SUPPLY),
        nodes=_nodes(venue),
        loads=_loads(project),
        show_parts=tuple(_show_part(one) for one in project.show_parts.select_related("timeline")),
        part_levels=_parts(_part_level, project.part_levels, "part__name", "load__label", "level"),
        readings=_parts(_reading, Reading.objects.filter(level__in=levels), *READING),
    )


def _parts(make: Callable[..., Part], records: Any, *columns: str) -> tuple[Part, ...]:
    """What `make` makes of these columns of each record. No record is built: that takes longer than all the rest."""
    return tuple(itertools.starmap(make, records.values_list(*columns)))


def _made_once(make: Callable[..., Part]) -> Callable[..., Part]:
    """Keep what was made of the same values: most parts of a Scene are those of the Scene before.

    A part follows from the values that were read and from nothing else, so none can be out of date.
    """
    return lru_cache(maxsize=PARTS_KEPT, typed=True)(make)


def _venue_facts(venue: Venue) -> s.VenueFacts:
    same = _same(venue, *_names_in(s.VenueFacts, besides=("project", "calibration")))
    return s.VenueFacts(project=venue.project.name, calibration=_calibration(venue), **same)


def _calibration(venue: Venue) -> s.VenueCalibration | None:
    applied = venue.calibrations.filter(is_applied=True).first()
    if applied is None:
        return None
    losses = tuple(
        s.WallLoss(kind=kind, material=material, loss_db=loss_db)  # type: ignore[arg-type]
        for kind, material, loss_db in applied.parsed_losses()
    )
    fitted = ("name", "reference_offset_db", "path_loss_exponent", "shadowing_sigma_db", "furthest_m", "network")
    latest = applied.latest_reading_at
    return s.VenueCalibration(
        wall_losses=losses, latest_reading_at=latest.isoformat() if latest else "", **_same(applied, *fitted)
    )


def _level(level: Any) -> s.Level:
    return s.Level(
        origin_m=(level.origin_x_m, level.origin_y_m),
        **_same(level, "name", "elevation_m", "clear_height_m", "width_m", "depth_m", "floor_material"),
    )


@_made_once
def _wall(level: str, x0_m: float, y0_m: float, x1_m: float, y1_m: float, *same: Any) -> s.Wall:
    return s.Wall(level=level, start_m=(x0_m, y0_m), end_m=(x1_m, y1_m), **_named(WALL_SAME, same))


def _zone(zone: Any, level: str) -> s.Zone:
    return s.Zone(name=zone.name, level=level, corners_m=tuple((float(x), float(y)) for x, y in zone.corners_m))


def _crowd_area(area: Any, level: str) -> s.CrowdArea:
    return s.CrowdArea(
        level=level,
        corners_m=tuple((float(x), float(y)) for x, y in area.corners_m),
        **_same(area, "label", "height_m", "loss_db_per_m", "most_db"),
    )


@_made_once
def _site(level: str, x_m: float, y_m: float, *same: Any) -> s.CandidateSite:
    return s.CandidateSite(level=level, position_m=(x_m, y_m), **_named(SITE_SAME, same))


def _occupied(one: Any) -> s.OccupiedSpectrum:
    empty, full = ("received_dbm", "busy_share"), ("full_house_dbm", "full_house_busy_share")
    return s.OccupiedSpectrum(**_same(one, "label", "centre_mhz", "bandwidth_mhz", *empty, *full))


def _node_type(one: Any) -> s.NodeType:
    return s.NodeType(**_same(one, *_names_in(s.NodeType)))


def _network(one: Any, channel_here: int | None) -> s.Network:
    """A network on the radio channel it has in this venue."""
    channel = one.radio_channel if channel_here is None else channel_here
    return s.Network(radio_channel=channel, **_same(one, "name", "phy", "pan_id"))


def _own_phy(one: OwnPhy) -> scene_traffic.OwnPhy:
    return scene_traffic.OwnPhy(**_same(one, *_names_in(scene_traffic.OwnPhy)))


def _timeline(one: ShowTimeline) -> scene_show.Timeline:
    return scene_show.Timeline(name=one.name, rows=one.rows.replace("\n", ";"))


def _traffic(one: Traffic) -> scene_traffic.Traffic:
    same = _same(one, *_names_in(scene_traffic.Traffic, besides=("network", "timeline")))
    timeline = one.timeline.name if one.timeline else None
    return scene_traffic.Traffic(network=one.network.name, timeline=timeline, **same)


def _feed(one: Feed) -> scene_traffic.Feed:
    same = _same(one, *_names_in(scene_traffic.Feed, besides=("network",)))
    return scene_traffic.Feed(network=one.network.name, **same)


@_made_once
def _supply(*same: Any) -> scene_power.Supply:
    return scene_power.Supply(**_named(SUPPLY, same))


def _nodes(venue: Venue) -> tuple[s.Node, ...]:
    placed = Placement.objects.filter(venue=venue).values_list("node_id", *PLACEMENT)
    placements = {node_id: _placement(*values) for node_id, *values in placed}
    nodes = Node.objects.filter(project=venue.project_id).values_list("pk", *NODE)
    return tuple(_node(placements.get(pk), *values) for pk, *values in nodes)


@_made_once
def _node(
    placement: s.Placement | None,
    node_type: str,
    network: str | None,
    supply: str | None,
    crew: str | None,
    *same: Any,
) -> s.Node:
    return s.Node(
        placement=placement,
        node_type=node_type,
        network=network,
        supply=supply,
        crew=crew,
        **_named(NODE_SAME, same),
    )


@_made_once
def _placement(level: str, zone: str | None, x_m: float | None, y_m: float | None, *same: Any) -> s.Placement:
    position_m = (x_m, y_m) if x_m is not None and y_m is not None else None
    return s.Placement(level=level, zone=zone, position_m=position_m, **_named(PLACEMENT_SAME, same))


def _loads(project: Project) -> tuple[scene_power.Load, ...]:
    rows = Load.objects.filter(project=project).values_list(*LOAD)
    return tuple(_load(node, tuple(map(float, points_m)), *same) for node, points_m, *same in rows)


@_made_once
def _load(node: str, feed_points_m: tuple[float, ...], *same: Any) -> scene_power.Load:
    return scene_power.Load(node=node, feed_points_m=feed_points_m, **_named(LOAD_SAME, same))


def _show_part(part: ShowPart) -> scene_power.ShowPart:
    same = _same(part, *_names_in(scene_power.ShowPart, besides=("timeline",)))
    return scene_power.ShowPart(timeline=part.timeline.name if part.timeline else None, **same)


@_made_once
def _part_level(part: str, load: str, level: float) -> scene_power.PartLevel:
    return scene_power.PartLevel(part=part, load=load, level=level)


@_made_once
def _reading(
    level: str, x_m: float, y_m: float, transmitter: str, receiver_type: str, taken_at: datetime, *same: Any
) -> s.Reading:
    return s.Reading(
        level=level,
        position_m=(x_m, y_m),
        transmitter=transmitter,
        receiver_type=receiver_type,
        taken_at=taken_at.isoformat(),
        **_named(READING_SAME, same),
    )


def _names_in(part: Any, besides: Collection[str] = ()) -> list[str]:
    """The fields of a part that its record calls the same: all but those `besides`."""
    return [field.name for field in fields(part) if field.name not in besides]


def _same(record: Any, *names: str) -> dict[str, Any]:
    return {name: getattr(record, name) for name in names}


def _named(names: Collection[str], values: Collection[Any]) -> dict[str, Any]:
    return dict(zip(names, values, strict=True))


# Columns of the records that a venue may have many of: those with another form or name in the Scene first, as the
# functions above take them, then those that are the same.
WALL_SAME = _names_in(s.Wall, besides=("level", "start_m", "end_m"))
WALL = ("level__name", "start_x_m", "start_y_m", "end_x_m", "end_y_m", *WALL_SAME)
SITE_SAME = _names_in(s.CandidateSite, besides=("level", "position_m"))
SITE = ("level__name", "x_m", "y_m", *SITE_SAME)
SUPPLY = _names_in(scene_power.Supply)
NODE_SAME = _names_in(s.Node, besides=("node_type", "network", "supply", "crew", "placement"))
NODE = ("node_type__name", "network__name", "supply__label", "crew__name", *NODE_SAME)
PLACEMENT_SAME = _names_in(s.Placement, besides=("level", "zone", "position_m"))
PLACEMENT = ("level__name", "zone__name", "x_m", "y_m", *PLACEMENT_SAME)
LOAD_SAME = _names_in(scene_power.Load, besides=("node", "feed_points_m"))
LOAD = ("node__label", "feed_points_m", *LOAD_SAME)
READING_SAME = ("height_m", "received_dbm", "packet_error")
READING = ("level__name", "x_m", "y_m", "transmitter__label", "receiver_type__name", "taken_at", *READING_SAME)
