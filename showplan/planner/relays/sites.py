"""Where relays may stand: the venue's candidate sites, present relays, and sites laid out on lines, grids and edges."""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace

import numpy as np
import shapely

from showplan.geometry.sampling import grid_centres
from showplan.planner.faults import Fault
from showplan.planner.relays.wishes import RelayWishes, SiteEdges, SiteGrid, SiteLine
from showplan.planner.scene import CandidateSite, Level, Node, Scene
from showplan.planner.scene_types import Point

# A relay is fixed beside a wall, not in it.
OFF_THE_WALL_M = 0.3
SAME_PLACE_M = 0.05


@dataclass(frozen=True)
class Site:
    """One place for a relay: what it is called, where it is, what it costs, and whether it must or never is used."""

    name: str
    level: str
    position_m: Point
    height_m: float
    has_mains: bool = False
    cost: float = 1.0
    must: bool = False
    never: bool = False


def sites_of(scene: Scene, wishes: RelayWishes, present: list[Node]) -> tuple[Site, ...]:
    """Every site the wishes allow, given ones first; two at one place count once, the first of them."""
    found: list[Site] = []
    if wishes.given_sites:
        found += [_given(site) for site in scene.candidate_sites]
    if wishes.present_sites:
        found += [_present(node) for node in present]
    layouts: list[SiteLine | SiteGrid | SiteEdges] = [*wishes.lines, *wishes.grids, *wishes.edges]
    for part in layouts:
        found += _laid_out(scene, part)
    return _named_apart(_once(found))


def layout_faults(scene: Scene, wishes: RelayWishes) -> Iterator[Fault]:
    """What is wrong with lines, grids and edges: unknown levels, places off the level, too high."""
    levels = {level.name: level for level in scene.levels}
    for collection in ("lines", "grids", "edges"):
        for index, part in enumerate(getattr(wishes, collection)):
            at = f"/{collection}/{index}"
            level = levels.get(part.level)
            if level is None:
                known = ", ".join(sorted(levels)) or "none"
                yield Fault(f"{at}/level", f"there is no level {part.level!r} here; known: {known}")
                continue
            if part.height_m > level.clear_height_m:
                message = f"{part.height_m:g} m is above the clear height of {level.name!r}, {level.clear_height_m:g} m"
                yield Fault(f"{at}/height_m", message)
            for number, (x, y) in enumerate(getattr(part, "points_m", ())):
                if not level.contains((x, y)):
                    message = f"({x:g}, {y:g}) m lies off level {level.name!r}, which spans {level.extent()}"
                    yield Fault(f"{at}/points_m/{number}", message)


def _given(site: CandidateSite) -> Site:
    return Site(
        site.label,
        site.level,
        site.position_m,
        site.height_m,
        site.has_mains,
        site.cost,
        must=site.relay_use == "must",
        never=site.relay_use == "never",
    )


def _present(node: Node) -> Site:
    place = node.placement
    assert place is not None
    assert place.position_m is not None
    return Site(f"where {node.label} stands", place.level, place.position_m, place.height_m, has_mains=True)


def _laid_out(scene: Scene, part: SiteLine | SiteGrid | SiteEdges) -> Iterator[Site]:
    level = scene.level(part.level)
    match part:
        case SiteLine():
            points = _along(part.points_m, part.step_m)
        case SiteGrid():
            points = _grid(level, part.step_m)
        case SiteEdges():
            points = _edges(scene, level, part.step_m)
    for x, y in points:
        if level.contains((x, y)):
            yield Site(f"{level.name} {x:.1f}, {y:.1f} m", level.name, (x, y), part.height_m)


def _grid(level: Level, step_m: float) -> Iterator[Point]:
    x_m, y_m = grid_centres(level.origin_m, level.width_m, level.depth_m, step_m)
    yield from ((float(x), float(y)) for y in y_m for x in x_m)


def _edges(scene: Scene, level: Level, step_m: float) -> Iterator[Point]:
    (left, bottom), right, top = level.origin_m, level.origin_m[0] + level.width_m, level.origin_m[1] + level.depth_m
    corners = ((left, bottom), (right, bottom), (right, top), (left, top), (left, bottom))
    yield from _along(corners, step_m)
    for wall in scene.walls:
        if wall.level == level.name:
            ray = np.subtract(wall.end_m, wall.start_m)
            off = OFF_THE_WALL_M * np.array([-ray[1], ray[0]]) / np.hypot(*ray)
            for side in (off, -off):
                yield from _along((wall.start_m + side, wall.end_m + side), step_m)


def _along(corners: Sequence[Sequence[float]], step_m: float) -> Iterator[Point]:
    """Points at equal steps of at most `step_m` along a line, both ends included."""
    line = shapely.LineString(corners)
    steps = max(1, math.ceil(line.length / step_m - 1e-9))
    for number in range(steps + 1):
        point = line.interpolate(number / steps, normalized=True)
        yield (float(point.x), float(point.y))


def _once(sites: list[Site]) -> list[Site]:
    taken: set[tuple[object, ...]] = set()
    kept = []
    for site in sites:
        key = (site.level, *(round(value / SAME_PLACE_M) for value in (*site.position_m, site.height_m)))
        if key not in taken:
            taken.add(key)
            kept.append(site)
    return kept


def _named_apart(sites: list[Site]) -> tuple[Site, ...]:
    """Sites of one name on several levels are told apart by the level, then by a number."""
    names: dict[str, int] = {}
    apart = []
    for site in sites:
        name = site.name if site.name not in names else f"{site.name} ({site.level})"
        names[name] = names.get(name, 0) + 1
        if names[name] > 1:
            name = f"{name} {names[name]}"
        apart.append(site if name == site.name else replace(site, name=name))
    return tuple(apart)
