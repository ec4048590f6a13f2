"""Small plans of a relay placement, one for each level it concerns: chosen sites, gateways, routes."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

from frontend.present.labels import CORNERS, SIDES, Box, Line, Wish, around, placed
from frontend.present.places import Place, drawn_places
from frontend.present.svg import MARGIN, Shape, Sheet, Word, outline, scale_bar_of
from showplan.services.planning import PlannedVenue

# The drawing is shown at less than half the width of the venue's plan: marks and words are larger on the sheet.
NAME_SIZE = 34.0
SIZES = {"gateway": 16.0, "relay": 17.0, "receiver": 8.0}
CROSS = 11.0
WIDE_FROM = 3.0  # width over depth from which a plan wants a wider card


@dataclass(frozen=True)
class SmallPlan:
    """One level: its name, and shapes in the order in which they are painted."""

    level: str
    says: str
    view_box: str
    width: str
    depth: str
    walls: tuple[Shape, ...]
    sites: tuple[Shape, ...]
    routes: tuple[Shape, ...]
    marks: tuple[Shape, ...]
    words: tuple[Word, ...]
    scale_bar: Shape
    is_wide: bool


def small_plans(planned: PlannedVenue, placement: Mapping[str, Any]) -> list[SmallPlan]:
    """Every level on which a relay, a gateway or a served node stands, the lowest first."""
    nodes = drawn_places(planned)
    stops = _stops(placement, nodes)
    hops = _hops(placement)
    served = {route["node"] for route in placement["routes"]} & nodes.keys()
    levels = sorted(planned.scene.levels, key=lambda level: (level.elevation_m, level.name))
    concerned = {place.level for _, place in stops.values()} | {nodes[label].level for label in served}
    everywhere = {name: place for name, (_, place) in stops.items()} | {label: nodes[label] for label in served}
    return [_of_level(planned, level, stops, hops, everywhere) for level in levels if level.name in concerned]


def _stops(placement: Mapping[str, Any], nodes: Mapping[str, Place]) -> dict[str, tuple[str, Place]]:
    """Role and place of each gateway and relay by the name that routes call it."""
    found: dict[str, tuple[str, Place]] = {}
    for role, ends in (("relay", placement["relays"]), ("gateway", placement["gateways"])):
        for end in ends:
            if "site" in end:
                found[end["site"]] = (role, Place(end["x_m"], end["y_m"], end["level"]))
            elif end["node"] in nodes:
                found[end["node"]] = (role, nodes[end["node"]])
    return found


def _hops(placement: Mapping[str, Any]) -> dict[tuple[str, str], str]:
    """Each hop once, with the class of its line; those of a second route alone are dashed."""
    found: dict[tuple[str, str], str] = {}
    for route in placement["routes"]:
        ways = [(route["through"], ""), *((way, "spare") for way in route["disjoint"])]
        for through, kind in ways:
            stops = [route["gateway"], *through, route["node"]]
            for number, hop in enumerate(pairwise(stops), 1):
                found.setdefault(hop, kind if number == len(stops) - 1 else f"backbone {kind}".strip())
    return found


def _of_level(
    planned: PlannedVenue,
    level: Any,
    stops: Mapping[str, tuple[str, Place]],
    hops: Mapping[tuple[str, str], str],
    places: Mapping[str, Place],
) -> SmallPlan:
    sheet = Sheet(level)
    here = {name: stop for name, stop in stops.items() if stop[1].level == level.name}
    drawn = {hop: kind for hop, kind in hops.items() if _concerns(hop, kind, level.name, places)}
    elsewhere = {name: stops[name] for hop in drawn for name in hop if name in stops and name not in here}
    receivers = {name: place for name, place in places.items() if name not in stops and place.level == level.name}
    walls = [wall for wall in planned.scene.walls if wall.level == level.name]
    sites = [site for site in planned.scene.candidate_sites if site.level == level.name]
    scale_bar, scale_words = scale_bar_of(sheet)
    lines = _lines(sheet, drawn, places, receivers, walls)
    return SmallPlan(
        level=level.name,
        says=f"{level.name}: {_in_words(here)}",
        view_box=sheet.view_box,
        width=f"{sheet.width:.1f}",
        depth=f"{sheet.depth:.1f}",
        walls=tuple(Shape(sheet.line(wall.start_m, wall.end_m), "wall-1", f"wall {wall.label}") for wall in walls),
        sites=tuple(_cross(sheet, site) for site in sites if site.label not in here),
        routes=tuple(_routes(sheet, drawn, places)),
        marks=(
            *(_mark(sheet, "receiver", name, place) for name, place in receivers.items()),
            *(_mark(sheet, f"{role} elsewhere", name, place) for name, (role, place) in elsewhere.items()),
            *(_mark(sheet, role, name, place) for name, (role, place) in here.items()),
        ),
        words=(*_words(sheet, here, elsewhere, lines), scale_words),
        scale_bar=scale_bar,
        is_wide=sheet.width > WIDE_FROM * sheet.depth,
    )


def _concerns(hop: tuple[str, str], kind: str, level: str, places: Mapping[str, Place]) -> bool:
    """A hop is drawn on its receiver's level; one between senders on both levels it joins."""
    sender, receiver = (places.get(name) for name in hop)
    if sender is None or receiver is None:
        return False
    return receiver.level == level or ("backbone" in kind and sender.level == level)


def _routes(sheet: Sheet, hops: Mapping[tuple[str, str], str], places: Mapping[str, Place]) -> list[Shape]:
    """The thick hops last, so that they lie on top."""
    drawn = []
    for (sender, receiver), kind in hops.items():
        start, end = places[sender], places[receiver]
        line = sheet.line((start.x_m, start.y_m), (end.x_m, end.y_m))
        drawn.append(Shape(line, f"route {kind}".strip(), f"{sender} to {receiver}"))
    return sorted(drawn, key=lambda shape: "backbone" in shape.kind)


def _mark(sheet: Sheet, kind: str, name: str, place: Place) -> Shape:
    x, y = sheet.at(place.x_m, place.y_m)
    role, *is_elsewhere = kind.split()
    where = f" (on {place.level})" if is_elsewhere else f", moves in {place.zone}" if place.zone else ""
    return Shape(outline(role, x, y, SIZES[role]), f"node {kind}", f"{role} {name}{where}")


def _cross(sheet: Sheet, site: Any) -> Shape:
    x, y = sheet.at(*site.position_m)
    path = f"M{x - CROSS:.1f} {y:.1f}H{x + CROSS:.1f}M{x:.1f} {y - CROSS:.1f}V{y + CROSS:.1f}"
    return Shape(path, "site", f"candidate site {site.label}, without a relay")


def _lines(
    sheet: Sheet,
    hops: Iterable[tuple[str, str]],
    places: Mapping[str, Place],
    receivers: Mapping[str, Place],
    walls: Iterable[Any],
) -> list[Line]:
    """What names had better not cover: hops, walls, the level's edge, and receivers as a stroke through each."""
    lines = [(*_at(sheet, places[sender]), *_at(sheet, places[receiver])) for sender, receiver in hops]
    lines += [(*sheet.at(*wall.start_m), *sheet.at(*wall.end_m)) for wall in walls]
    corners = ((0.0, 0.0), (sheet.width, 0.0), (sheet.width, sheet.depth), (0.0, sheet.depth), (0.0, 0.0))
    lines += [(*one, *other) for one, other in pairwise(corners)]
    half = SIZES["receiver"]
    return lines + [(x - half, y, x + half, y) for x, y in (_at(sheet, place) for place in receivers.values())]


def _at(sheet: Sheet, place: Place) -> tuple[float, float]:
    return sheet.at(place.x_m, place.y_m)


def _words(
    sheet: Sheet,
    here: Mapping[str, tuple[str, Place]],
    elsewhere: Mapping[str, tuple[str, Place]],
    lines: Sequence[Line],
) -> list[Word]:
    """Names of the senders here, then of those on other levels; what finds no room is left out."""
    stops = [(name, *stop) for name, stop in here.items()]
    stops += [(f"{name} ({stop[1].level})", *stop) for name, stop in elsewhere.items()]
    sides = (*SIDES, *CORNERS)
    wishes = [Wish(name, *_at(sheet, at), SIZES[role] + 6, NAME_SIZE, sides) for name, role, at in stops]
    taken = [around(*_at(sheet, at), SIZES[role] + 2) for _, role, at in stops]
    texts = placed(wishes, taken, Box(-MARGIN, -MARGIN, sheet.width + MARGIN, sheet.depth), lines)
    return [Word(text, "node-name") for text in texts if text is not None]


def _in_words(here: Mapping[str, tuple[str, Place]]) -> str:
    parts = []
    for role in ("gateway", "relay"):
        names = [name for name, (found, _) in here.items() if found == role]
        if names:
            parts.append(f"{role}{'s' if len(names) > 1 else ''} {', '.join(names)}")
    return "; ".join(parts) or "receivers only"
