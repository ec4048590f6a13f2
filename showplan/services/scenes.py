"""From records to a Scene: a fixed number of queries, whatever the size of the venue."""

from collections.abc import Collection
from dataclasses import fields
from typing import Any

from showplan.planner import scene as s
from showplan.planner import scene_power, scene_show, scene_traffic
from showplan.planner.faults import SceneError
from showplan.planner.scene_file import checked
from showplan.records.models import (
    Feed,
    Load,
    Node,
    OwnPhy,
    PartLevel,
    Placement,
    Reading,
    ShowPart,
    ShowTimeline,
    Supply,
    Traffic,
    Venue,
)
from showplan.services.errors import PlanImpossible


def build_scene(venue: Venue) -> s.Scene:
    """The frozen Scene of a venue. Raises PlanImpossible where records break a rule the planner needs."""
    try:
        return checked(_scene(venue))
    except SceneError as error:
        raise PlanImpossible(error.faults) from error


def _scene(venue: Venue) -> s.Scene:
    project = venue.project
    levels = list(venue.levels.prefetch_related("walls", "zones", "crowd_areas", "candidate_sites"))
    placements = {
        placement.node_id: placement
        for placement in Placement.objects.filter(venue=venue).select_related("level", "zone")
    }
    channels = dict(venue.channel_choices.values_list("network_id", "radio_channel"))
    nodes = Node.objects.filter(project=project).select_related("node_type", "network", "supply", "crew")
    readings = Reading.objects.filter(level__venue=venue).select_related("level", "transmitter", "receiver_type")
    return s.Scene(
        venue=_venue_facts(venue),
        levels=tuple(_level(level) for level in levels),
        walls=tuple(_wall(wall, level.name) for level in levels for wall in level.walls.all()),
        zones=tuple(_zone(zone, level.name) for level in levels for zone in level.zones.all()),
        crowd_areas=tuple(_crowd_area(area, level.name) for level in levels for area in level.crowd_areas.all()),
        candidate_sites=tuple(_site(site, level.name) for level in levels for site in level.candidate_sites.all()),
        occupied_spectrum=tuple(_occupied(one) for one in venue.occupied_spectrum.all()),
        node_types=tuple(_node_type(one) for one in project.node_types.all()),
        own_phys=tuple(_own_phy(one) for one in project.own_phys.all()),
        networks=tuple(_network(one, channels.get(one.pk)) for one in project.networks.all()),
        traffics=tuple(_traffic(one) for one in project.traffics.select_related("network", "timeline")),
        timelines=tuple(_timeline(one) for one in project.timelines.all()),
        feeds=tuple(_feed(one) for one in project.feeds.select_related("network")),
        supplies=tuple(_supply(one) for one in project.supplies.all()),
        nodes=tuple(_node(node, placements.get(node.pk)) for node in nodes),
        loads=tuple(_load(load) for load in Load.objects.filter(project=project).select_related("node")),
        show_parts=tuple(_show_part(one) for one in project.show_parts.select_related("timeline")),
        part_levels=tuple(_part_level(one) for one in project.part_levels.select_related("part", "load")),
        readings=tuple(_reading(reading) for reading in readings),
    )


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


def _wall(wall: Any, level: str) -> s.Wall:
    return s.Wall(
        level=level,
        start_m=(wall.start_x_m, wall.start_y_m),
        end_m=(wall.end_x_m, wall.end_y_m),
        **_same(wall, "label", "base_m", "height_m", "material", "has_open_top"),
    )


def _zone(zone: Any, level: str) -> s.Zone:
    return s.Zone(name=zone.name, level=level, corners_m=tuple((float(x), float(y)) for x, y in zone.corners_m))


def _crowd_area(area: Any, level: str) -> s.CrowdArea:
    return s.CrowdArea(
        level=level,
        corners_m=tuple((float(x), float(y)) for x, y in area.corners_m),
        **_same(area, "label", "height_m", "loss_db_per_m", "most_db"),
    )


def _site(site: Any, level: str) -> s.CandidateSite:
    return s.CandidateSite(
        level=level,
        position_m=(site.x_m, site.y_m),
        **_same(site, "label", "height_m", "has_mains", "cost", "relay_use"),
    )


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


def _supply(one: Supply) -> scene_power.Supply:
    return scene_power.Supply(**_same(one, *_names_in(scene_power.Supply)))


def _node(node: Node, placement: Placement | None) -> s.Node:
    named = ("node_type", "network", "supply", "crew", "placement")
    return s.Node(
        node_type=node.node_type.name,
        network=node.network.name if node.network else None,
        supply=node.supply.label if node.supply else None,
        crew=node.crew.name if node.crew else None,
        placement=_placement(placement) if placement else None,
        **_same(node, *_names_in(s.Node, besides=named)),
    )


def _placement(placement: Placement) -> s.Placement:
    x_m, y_m = placement.x_m, placement.y_m
    return s.Placement(
        level=placement.level.name,
        zone=placement.zone.name if placement.zone else None,
        position_m=(x_m, y_m) if x_m is not None and y_m is not None else None,
        **_same(placement, "height_m", "aim_deg", "tilt_deg"),
    )


def _load(load: Load) -> scene_power.Load:
    points_m = tuple(float(point) for point in load.feed_points_m)
    same = _same(load, *_names_in(scene_power.Load, besides=("node", "feed_points_m")))
    return scene_power.Load(node=load.node.label, feed_points_m=points_m, **same)


def _show_part(part: ShowPart) -> scene_power.ShowPart:
    same = _same(part, *_names_in(scene_power.ShowPart, besides=("timeline",)))
    return scene_power.ShowPart(timeline=part.timeline.name if part.timeline else None, **same)


def _part_level(one: PartLevel) -> scene_power.PartLevel:
    return scene_power.PartLevel(part=one.part.name, load=one.load.label, level=one.level)


def _reading(reading: Reading) -> s.Reading:
    return s.Reading(
        level=reading.level.name,
        position_m=(reading.x_m, reading.y_m),
        transmitter=reading.transmitter.label,
        receiver_type=reading.receiver_type.name,
        taken_at=reading.taken_at.isoformat(),
        **_same(reading, "height_m", "received_dbm", "packet_error"),
    )


def _names_in(part: Any, besides: Collection[str] = ()) -> list[str]:
    """The fields of a part that its record calls the same: all but those `besides`."""
    return [field.name for field in fields(part) if field.name not in besides]


def _same(record: Any, *names: str) -> dict[str, Any]:
    return {name: getattr(record, name) for name in names}
