"""The plan as SVG shapes for the page without JavaScript and for paper, in units of a thousandth of the long side."""

from dataclasses import dataclass
from typing import Any

from frontend.present.drawing import Drawing, DrawnNode
from frontend.present.labels import Box, Text, Wish, around, placed

LONG_SIDE = 1000.0
MARGIN = 14.0
SCALE_BAR_HEIGHT = 40.0
WIDE_FROM = 1.9  # width over depth from which the legend stands below the plan
NODE_SIZES = {"gateway": 11.0, "relay": 11.0, "receiver": 7.0}
NAME_SIZE, SMALL_SIZE = 19.0, 15.0


@dataclass(frozen=True)
class Shape:
    """One shape: its SVG path data, classes and tooltip; links carry their dash and colour."""

    path: str
    kind: str
    says: str = ""
    dash: str = ""
    colour: str = ""


@dataclass(frozen=True)
class Word:
    """A text of the drawing with its classes."""

    text: Text
    kind: str


@dataclass(frozen=True)
class Picture:
    """The plan picture: its address and where it lies on the sheet."""

    address: str
    x: str
    y: str
    width: str
    height: str


@dataclass(frozen=True)
class SvgPlan:
    """All shapes and words in the order in which they are painted."""

    picture: "Picture | None"
    view_box: str
    width: str
    depth: str
    is_wide: bool
    zones: tuple[Shape, ...]
    crowd_areas: tuple[Shape, ...]
    walls: tuple[Shape, ...]
    sites: tuple[Shape, ...]
    links: tuple[Shape, ...]
    nodes: tuple[Shape, ...]
    words: tuple[Word, ...]
    scale_bar: Shape


class Sheet:
    """From metres, y up, to units, y down."""

    def __init__(self, level: Any) -> None:
        self.level = level
        self.scale = LONG_SIDE / max(level.width_m, level.depth_m)
        self.width, self.depth = level.width_m * self.scale, level.depth_m * self.scale

    @property
    def view_box(self) -> str:
        """Of a drawing with a margin and room for the scale bar."""
        width, depth = self.width + 2 * MARGIN, self.depth + 2 * MARGIN + SCALE_BAR_HEIGHT
        return f"{-MARGIN:.1f} {-MARGIN:.1f} {width:.1f} {depth:.1f}"

    def at(self, x_m: float, y_m: float) -> tuple[float, float]:
        """A point of the level on the sheet."""
        x0, y0 = self.level.origin_m
        return (x_m - x0) * self.scale, self.depth - (y_m - y0) * self.scale

    def line(self, *points_m: tuple[float, float]) -> str:
        """Path data from point to point."""
        return "M" + "L".join(f"{x:.1f} {y:.1f}" for x, y in (self.at(*point) for point in points_m))


def svg_plan(drawing: Drawing, picture: dict[str, Any] | None = None) -> SvgPlan:
    """The drawing as SVG, over the plan picture (see `present.pictures`) where there is one."""
    sheet = Sheet(drawing.level)
    scale_bar, scale_words = scale_bar_of(sheet)
    return SvgPlan(
        picture=_picture(sheet, picture) if picture is not None else None,
        view_box=sheet.view_box,
        width=f"{sheet.width:.1f}",
        depth=f"{sheet.depth:.1f}",
        is_wide=sheet.width > WIDE_FROM * sheet.depth,
        zones=tuple(Shape(sheet.line(*z.corners_m) + "Z", "zone", f"zone {z.name}") for z in drawing.zones),
        crowd_areas=tuple(_crowd_area(sheet, area) for area in drawing.crowd_areas),
        walls=tuple(_wall(sheet, wall) for wall in drawing.walls),
        sites=tuple(_site(sheet, site) for site in drawing.sites),
        links=tuple(_link(sheet, link) for link in drawing.links),
        nodes=tuple(_node(sheet, node) for node in drawing.nodes),
        words=(*_words(sheet, drawing), scale_words),
        scale_bar=scale_bar,
    )


def _picture(sheet: Sheet, picture: dict[str, Any]) -> Picture:
    width, height = (picture[side] * picture["metres_per_pixel"] * sheet.scale for side in ("width_px", "height_px"))
    return Picture(picture["address"], "0", f"{sheet.depth - height:.1f}", f"{width:.1f}", f"{height:.1f}")


def _words(sheet: Sheet, drawing: Drawing) -> list[Word]:
    """Senders' names first, then zones, receivers, sites, letters of walls; what finds no room is left out."""
    wishes: list[tuple[str, Wish]] = []
    by_rank = sorted(drawing.nodes, key=lambda node: (node.role == "receiver", not node.is_here))
    for node in by_rank:
        name = node.label if node.is_here else f"{node.label} ({node.place.level})"
        x, y = sheet.at(node.place.x_m, node.place.y_m)
        wishes.append(("node-name", Wish(name, x, y, NODE_SIZES[node.role] + 4, NAME_SIZE)))
    senders = sum(node.role != "receiver" for node in by_rank)
    zones = [("zone-name", _area_wish(sheet, zone.name, zone)) for zone in drawing.zones]
    zones += [("crowd-name small", _area_wish(sheet, area.label, area)) for area in drawing.crowd_areas]
    wishes[senders:senders] = zones
    for site in drawing.sites:
        wishes.append(("small", Wish(site.label, *sheet.at(*site.position_m), 11, SMALL_SIZE)))
    for wall in drawing.walls:
        (x1, y1), (x2, y2) = sheet.at(*wall.start_m), sheet.at(*wall.end_m)
        wishes.append(("wall-letter", Wish(wall.letter, (x1 + x2) / 2, (y1 + y2) / 2, 6, SMALL_SIZE)))
    taken = [around(*sheet.at(node.place.x_m, node.place.y_m), NODE_SIZES[node.role] + 1) for node in drawing.nodes]
    texts = placed((wish for _, wish in wishes), taken, Box(-MARGIN, -MARGIN, sheet.width + MARGIN, sheet.depth))
    return [Word(text, kind) for (kind, _), text in zip(wishes, texts, strict=True) if text is not None]


def _area_wish(sheet: Sheet, name: str, area: Any) -> Wish:
    """The name stands inside, at the highest corner, the left one of several."""
    x, y = sheet.at(*max(area.corners_m, key=lambda corner: (corner[1], -corner[0])))
    return Wish(name, x, y + 13, 6, NAME_SIZE, sides=("right",))


def _crowd_area(sheet: Sheet, area: Any) -> Shape:
    return Shape(sheet.line(*area.corners_m) + "Z", "crowd-area", f"crowd area {area.label}")


def _wall(sheet: Sheet, wall: Any) -> Shape:
    return Shape(sheet.line(wall.start_m, wall.end_m), f"wall-{wall.weight}", f"wall {wall.label}")


def _site(sheet: Sheet, site: Any) -> Shape:
    x, y = sheet.at(*site.position_m)
    mains = "with mains" if site.has_mains else "without mains"
    cross = f"M{x - 8:.1f} {y:.1f}H{x + 8:.1f}M{x:.1f} {y - 8:.1f}V{y + 8:.1f}"
    return Shape(cross, "site site-mains" if site.has_mains else "site", f"candidate site {site.label}, {mains}")


def _link(sheet: Sheet, link: Any) -> Shape:
    line = sheet.line((link.start.x_m, link.start.y_m), (link.end.x_m, link.end.y_m))
    kind = "backbone" if link.is_backbone else ""
    return Shape(line, kind, link.says, dash=link.margin_class.dash, colour=link.margin_class.colour)


def _node(sheet: Sheet, node: DrawnNode) -> Shape:
    x, y = sheet.at(node.place.x_m, node.place.y_m)
    return Shape(outline(node.role, x, y, NODE_SIZES[node.role]), f"node {node.kind}", node.says)


def outline(role: str, x: float, y: float, size: float) -> str:
    """Square for a gateway, diamond for a relay, circle for a receiver."""
    if role == "gateway":
        return f"M{x - size:.1f} {y - size:.1f}h{2 * size:.1f}v{2 * size:.1f}h{-2 * size:.1f}Z"
    if role == "relay":
        half = 1.2 * size
        return f"M{x:.1f} {y - half:.1f}L{x + half:.1f} {y:.1f}L{x:.1f} {y + half:.1f}L{x - half:.1f} {y:.1f}Z"
    return f"M{x - size:.1f} {y:.1f}a{size} {size} 0 1 0 {2 * size} 0a{size} {size} 0 1 0 {-2 * size} 0Z"


def scale_bar_of(sheet: Sheet) -> tuple[Shape, Word]:
    """A bar of 1, 2, 5, 10 ... metres, the longest within a quarter of the width."""
    longest_m = sheet.level.width_m / 4
    steps = [factor * 10**power for power in range(-1, 4) for factor in (1, 2, 5)]
    length_m = max((step for step in steps if step <= longest_m), default=steps[0])
    y, right = sheet.depth + 30, length_m * sheet.scale
    path = f"M0 {y - 6:.1f}V{y:.1f}H{right:.1f}V{y - 6:.1f}"
    return Shape(path, "scale-bar"), Word(Text(f"{right + 8:.1f}", f"{y + 3:.1f}", f"{length_m:g} m"), "")
