"""What must hold between the parts of a Scene: names that lead somewhere, places on their level, unique addresses."""

from collections.abc import Callable, Iterator
from typing import Any

from showplan import reference
from showplan.geometry.polygons import polygon_faults
from showplan.planner.faults import Fault
from showplan.planner.path_loss import SURROUNDINGS
from showplan.planner.phys import known_phys
from showplan.planner.scene import COLLECTIONS, Level, Node, Scene, key_of
from showplan.planner.scene_power_checks import power_faults
from showplan.planner.scene_traffic import OwnPhy
from showplan.planner.timelines import rows_of
from showplan.timelines import RowFault

ROUNDING_MHZ = 1e-6  # a radio channel may end exactly where its band ends


def cross_faults(scene: Scene) -> list[Fault]:
    """Every fault that spans more than one field, each with the pointer of its place."""
    return [fault for check in _CHECKS for fault in check(scene)]


def _repeated_names(scene: Scene) -> Iterator[Fault]:
    for collection in COLLECTIONS:
        first: dict[Any, int] = {}
        for index, part in enumerate(getattr(scene, collection)):
            if key_of(part) in first:
                yield Fault(f"/{collection}/{index}", f"repeats the name of /{collection}/{first[key_of(part)]}")
            first.setdefault(key_of(part), index)


def _unknown_references(scene: Scene) -> Iterator[Fault]:
    """Keys of the reference tables that no table has."""
    tables: list[tuple[str, str, str]] = [
        ("levels", "floor_material", "materials"),
        ("walls", "material", "materials"),
    ]
    for collection, field, table in tables:
        known = getattr(reference, table)()
        for index, part in enumerate(getattr(scene, collection)):
            if getattr(part, field) not in known:
                yield _not_in(f"/{collection}/{index}/{field}", getattr(part, field), table, known)
    for field, table in (("region", "regions"), ("environment", "environments")):
        known = getattr(reference, table)()
        if getattr(scene.venue, field) not in known:
            yield _not_in(f"/venue/{field}", getattr(scene.venue, field), table, known)


def _phys(scene: Scene) -> Iterator[Fault]:
    """PHYs that neither the table nor the crew has, and ones of the crew's own that cannot be."""
    known = known_phys(scene.own_phys)
    for collection in ("node_types", "networks"):
        for index, part in enumerate(getattr(scene, collection)):
            if part.phy not in known:
                yield _not_in(f"/{collection}/{index}/phy", part.phy, "phys", sorted(known))
    for index, own in enumerate(scene.own_phys):
        if own.key in reference.phys():
            yield Fault(f"/own_phys/{index}/key", f"{own.key!r} is in the table of phys; choose another key")
        if own.last_channel < own.first_channel:
            yield Fault(f"/own_phys/{index}/last_channel", f"must be at least first_channel, {own.first_channel}")
        elif not _in_band(own):
            message = f"a radio channel reaches out of the band, {own.band_low_mhz:g} to {own.band_high_mhz:g} MHz"
            yield Fault(f"/own_phys/{index}/first_centre_mhz", message)


def _in_band(own: OwnPhy) -> bool:
    last_mhz = own.first_centre_mhz + own.spacing_mhz * (own.last_channel - own.first_channel)
    half_mhz = own.bandwidth_mhz / 2 - ROUNDING_MHZ
    return own.band_low_mhz <= own.first_centre_mhz - half_mhz and last_mhz + half_mhz <= own.band_high_mhz


def _sending(scene: Scene) -> Iterator[Fault]:
    """Ways of sending that contradict themselves."""
    for index, traffic in enumerate(scene.traffics):
        pointer = f"/traffics/{index}"
        if traffic.acknowledged and traffic.addressing != "each":
            message = "a packet for several nodes cannot be acknowledged: address each node, or send copies"
            yield Fault(f"{pointer}/acknowledged", message)
        elif traffic.acknowledged and traffic.relaying == "repeated":
            message = "packets that every relay repeats cannot be acknowledged: relay them by route, or not at all"
            yield Fault(f"{pointer}/acknowledged", message)
        if traffic.min_be > traffic.max_be:
            yield Fault(f"{pointer}/min_be", f"must be at most max_be, {traffic.max_be}")


def _timelines(scene: Scene) -> Iterator[Fault]:
    """Timelines whose rows cannot be read, and ways of sending that would not look at theirs."""
    for index, timeline in enumerate(scene.timelines):
        try:
            rows_of(timeline.rows)
        except RowFault as fault:
            yield Fault(f"/timelines/{index}/rows", str(fault))
    for index, traffic in enumerate(scene.traffics):
        if traffic.timeline is not None and traffic.coding == "full":
            message = "every level is sent, whatever changes: take the timeline out, or choose the coding 'changes'"
            yield Fault(f"/traffics/{index}/timeline", message)


def _surroundings(scene: Scene) -> Iterator[Fault]:
    venue = scene.venue
    known = SURROUNDINGS.get(venue.path_loss_model)
    if known is not None and venue.surroundings not in known:
        yield Fault("/venue/surroundings", f"the model {venue.path_loss_model!r} needs one of {', '.join(known)}")


def _not_in(pointer: str, key: str, table: str, known: Any) -> Fault:
    return Fault(pointer, f"{key!r} is not in the table of {table}; known: {', '.join(known)}")


def _dangling_names(scene: Scene) -> Iterator[Fault]:
    """Names of parts that the Scene does not hold."""
    links: list[tuple[str, str, str]] = [
        ("walls", "level", "levels"),
        ("zones", "level", "levels"),
        ("crowd_areas", "level", "levels"),
        ("candidate_sites", "level", "levels"),
        ("readings", "level", "levels"),
        ("readings", "transmitter", "nodes"),
        ("readings", "receiver_type", "node_types"),
        ("traffics", "network", "networks"),
        ("traffics", "timeline", "timelines"),
        ("show_parts", "timeline", "timelines"),
        ("feeds", "network", "networks"),
        ("nodes", "node_type", "node_types"),
        ("nodes", "network", "networks"),
        ("nodes", "supply", "supplies"),
        ("loads", "node", "nodes"),
        ("part_levels", "part", "show_parts"),
        ("part_levels", "load", "loads"),
    ]
    names = {collection: {key_of(part) for part in getattr(scene, collection)} for collection in COLLECTIONS}
    for collection, field, target in links:
        for index, part in enumerate(getattr(scene, collection)):
            name = getattr(part, field)
            if name is not None and name not in names[target]:
                yield Fault(f"/{collection}/{index}/{field}", f"there is no {name!r} among the {target}")
    for index, node in enumerate(scene.nodes):
        place = node.placement
        if place is None:
            continue
        if place.level not in names["levels"]:
            yield Fault(f"/nodes/{index}/placement/level", f"there is no {place.level!r} among the levels")
        elif place.zone is not None and (place.level, place.zone) not in names["zones"]:
            yield Fault(f"/nodes/{index}/placement/zone", f"level {place.level!r} has no zone {place.zone!r}")


def _off_level(scene: Scene) -> Iterator[Fault]:
    levels = {level.name: level for level in scene.levels}

    def outside(pointer: str, level_name: str, *points: tuple[float, float]) -> Iterator[Fault]:
        level = levels.get(level_name)
        if level is not None:
            yield from (
                Fault(pointer, f"({x:g}, {y:g}) m lies off level {level.name!r}, which spans {level.extent()}")
                for x, y in points
                if not level.contains((x, y))
            )

    for index, wall in enumerate(scene.walls):
        yield from outside(f"/walls/{index}/start_m", wall.level, wall.start_m)
        yield from outside(f"/walls/{index}/end_m", wall.level, wall.end_m)
    for index, zone in enumerate(scene.zones):
        yield from outside(f"/zones/{index}/corners_m", zone.level, *zone.corners_m)
    for index, area in enumerate(scene.crowd_areas):
        yield from outside(f"/crowd_areas/{index}/corners_m", area.level, *area.corners_m)
    for index, site in enumerate(scene.candidate_sites):
        yield from outside(f"/candidate_sites/{index}/position_m", site.level, site.position_m)
        yield from _too_high(f"/candidate_sites/{index}/height_m", levels.get(site.level), site.height_m)
    for index, reading in enumerate(scene.readings):
        yield from outside(f"/readings/{index}/position_m", reading.level, reading.position_m)
        yield from _too_high(f"/readings/{index}/height_m", levels.get(reading.level), reading.height_m)
    for index, node in enumerate(scene.nodes):
        if place := node.placement:
            if place.position_m is not None:
                yield from outside(f"/nodes/{index}/placement/position_m", place.level, place.position_m)
            yield from _too_high(f"/nodes/{index}/placement/height_m", levels.get(place.level), place.height_m)


def _too_high(pointer: str, level: Level | None, height_m: float) -> Iterator[Fault]:
    if level is not None and height_m > level.clear_height_m:
        yield Fault(pointer, f"{height_m:g} m is above the clear height of {level.name!r}, {level.clear_height_m:g} m")


def _shapes(scene: Scene) -> Iterator[Fault]:
    for index, wall in enumerate(scene.walls):
        if wall.start_m == wall.end_m:
            yield Fault(f"/walls/{index}", f"wall {wall.label!r} has no length: its two ends are the same point")
    for collection in ("zones", "crowd_areas"):
        for index, area in enumerate(getattr(scene, collection)):
            for message in polygon_faults([list(corner) for corner in area.corners_m]):
                yield Fault(f"/{collection}/{index}/corners_m", message)
    for index, node in enumerate(scene.nodes):
        if node.placement is not None and (node.placement.zone is None) == (node.placement.position_m is None):
            yield Fault(f"/nodes/{index}/placement", "give position_m or a zone, one of the two")


def _addresses(scene: Scene) -> Iterator[Fault]:
    first: dict[tuple[str, int], Node] = {}
    for index, node in enumerate(scene.nodes):
        if node.network is None:
            continue
        if node.short_address is None:
            yield Fault(f"/nodes/{index}/short_address", f"node {node.label!r} is in a network and needs an address")
            continue
        holder = first.setdefault((node.network, node.short_address), node)
        if holder is not node:
            message = f"address {node.short_address} is taken in network {node.network!r} by node {holder.label!r}"
            yield Fault(f"/nodes/{index}/short_address", message)


def _outputs_and_ratings(scene: Scene) -> Iterator[Fault]:
    types = {node_type.name: node_type for node_type in scene.node_types}
    nodes = {node.label: node for node in scene.nodes}
    first: dict[tuple[str, int], str] = {}
    for index, load in enumerate(scene.loads):
        holder = first.setdefault((load.node, load.output), load.label)
        if holder != load.label:
            message = f"output {load.output} of node {load.node!r} already feeds load {holder!r}"
            yield Fault(f"/loads/{index}/output", message)
        node = nodes.get(load.node)
        node_type = types.get(node.node_type) if node else None
        if node_type is not None and load.output > node_type.outputs:
            yield Fault(f"/loads/{index}/output", f"node {load.node!r} has {node_type.outputs} outputs")
        if (load.rated_w is None) == (load.rated_a is None):
            yield Fault(f"/loads/{index}", "give rated_w or rated_a, one of the two")
        if load.kind == "tape" and load.length_m is None:
            yield Fault(f"/loads/{index}/length_m", "a tape needs its length in metres")


_CHECKS: tuple[Callable[[Scene], Iterator[Fault]], ...] = (
    _repeated_names,
    _unknown_references,
    _phys,
    _sending,
    _timelines,
    _surroundings,
    _dangling_names,
    _shapes,
    _off_level,
    _addresses,
    _outputs_and_ratings,
    power_faults,
)
