"""What must hold between the facts on power of a Scene, whatever the planner makes of them."""

from collections.abc import Iterator
from typing import Any

from showplan.geometry.stretches import feed_point_faults
from showplan.planner.faults import Fault
from showplan.planner.scene import Scene


def power_faults(scene: Scene) -> Iterator[Fault]:
    """Every contradiction in the facts on power, each with the pointer of its place."""
    yield from _venue(scene)
    yield from _supplies(scene)
    yield from _trunks(scene)
    yield from _loads(scene)
    yield from _show_day(scene)


def _venue(scene: Scene) -> Iterator[Fault]:
    venue = scene.venue
    if venue.coldest_c > venue.warmest_c:
        yield Fault("/venue/coldest_c", f"must be at most warmest_c, {venue.warmest_c:g}")
    if venue.drop_warn_percent > venue.drop_stop_percent:
        yield Fault("/venue/drop_warn_percent", f"must be at most drop_stop_percent, {venue.drop_stop_percent:g}")


def _supplies(scene: Scene) -> Iterator[Fault]:
    for index, supply in enumerate(scene.supplies):
        if supply.kind == "mains" and supply.cells is not None:
            yield Fault(f"/supplies/{index}/cells", "only a battery has cells: take it out")
        if supply.kind == "mains" and supply.converter_v is not None:
            message = "only for a battery: the nominal_v of a mains supply is what it gives"
            yield Fault(f"/supplies/{index}/converter_v", message)


def _trunks(scene: Scene) -> Iterator[Fault]:
    for index, node in enumerate(scene.nodes):
        if (node.trunk_length_m is None) != (node.trunk_area_mm2 is None):
            yield Fault(f"/nodes/{index}", "give trunk_length_m and trunk_area_mm2, or neither")
        yield from _fuse_facts_alone(f"/nodes/{index}", node, "main_fuse")


def _loads(scene: Scene) -> Iterator[Fault]:
    for index, load in enumerate(scene.loads):
        if load.dropout_v is not None and load.dropout_v >= load.rated_v:
            yield Fault(f"/loads/{index}/dropout_v", f"must be below rated_v, {load.rated_v:g}")
        if load.kind != "tape" and load.feeding != "one-end":
            yield Fault(f"/loads/{index}/feeding", "only a tape is fed at both ends or at points")
        for message in feed_point_faults(load.feeding, load.feed_points_m, load.length_m):
            yield Fault(f"/loads/{index}/feed_points_m", message)
        yield from _fuse_facts_alone(f"/loads/{index}", load, "fuse")


def _fuse_facts_alone(pointer: str, part: Any, prefix: str) -> Iterator[Fault]:
    if getattr(part, f"{prefix}_a") is None:
        for name in (f"{prefix}_v", f"{prefix}_breaks_a"):
            if getattr(part, name) is not None:
                yield Fault(f"{pointer}/{name}", f"there is no fuse: give {prefix}_a, or take this out")


def _show_day(scene: Scene) -> Iterator[Fault]:
    first: dict[int, str] = {}
    gaps = {part.name for part in scene.show_parts if part.kind == "gap"}
    for index, part in enumerate(scene.show_parts):
        holder = first.setdefault(part.position, part.name)
        if holder != part.name:
            yield Fault(f"/show_parts/{index}/position", f"part {holder!r} has position {part.position} already")
        if part.kind == "gap" and part.level != 0:
            yield Fault(f"/show_parts/{index}/level", "nothing is on in a gap: must be 0")
        if part.kind == "gap" and part.timeline is not None:
            yield Fault(f"/show_parts/{index}/timeline", "nothing is on in a gap: take it out")
    for index, one in enumerate(scene.part_levels):
        if one.part in gaps and one.level != 0:
            message = f"part {one.part!r} is a gap, in which nothing is on: must be 0"
            yield Fault(f"/part_levels/{index}/level", message)
