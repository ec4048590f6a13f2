"""A node's power as a single-line diagram: supply, fuse, trunk, then fuse, switch, lead and load of each output.

One drawn line stands for go and return. The symbols are those of IEC 60617: battery, fuse, lamp; a switch and a bar
for tape. Beside each place stand the volts there and the amperes that flow on, as the loads behave; below them,
smaller, the worst case, in which every load takes its rated current.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from frontend.present.words import amperes, percent, volts

WIDTH, TOP, ROW = 1000.0, 112.0, 142.0
SUPPLY_X, FUSE_X, BUS_X = 44.0, 128.0, 330.0
BRANCH_FUSE_X, SWITCH_X, LEAD_X, LOAD_X, END_X = 362.0, 430.0, 490.0, 700.0, 960.0
FUSE_LENGTH, TAPE_HEIGHT, LAMP_RADIUS = 36.0, 18.0, 17.0
TAPE_HATCH = 20.0


@dataclass(frozen=True)
class Stroke:
    """A path with its class."""

    path: str
    kind: str = "wire"


@dataclass(frozen=True)
class Label:
    """Words at a place; `anchor` is how they are set."""

    x: str
    y: str
    words: str
    kind: str = ""
    anchor: str = "start"


@dataclass(frozen=True)
class LineDiagram:
    """Everything placed; `says` is the picture in a sentence."""

    view_box: str
    strokes: tuple[Stroke, ...]
    labels: tuple[Label, ...]
    says: str


def line_diagram(node: Any, supply: Any | None, loads: Mapping[str, Any]) -> LineDiagram:
    """The diagram of a `NodePower` with its `SupplyPower`; `loads` are the Scene's by label."""
    rows = max(1, len(node.outputs))
    strokes, labels = [*_head_strokes(node, supply, rows)], [*_head_labels(node, supply)]
    for index, output in enumerate(node.outputs):
        y = TOP + index * ROW
        load = loads[output.load]
        strokes += _branch_strokes(output, load, y)
        labels += _branch_labels(output, load, y)
    fed = ", ".join(one.load for one in node.outputs) or "nothing yet"
    return LineDiagram(
        view_box=f"0 0 {WIDTH:g} {TOP + rows * ROW - 48:g}",
        strokes=tuple(strokes),
        labels=tuple(labels),
        says=f"From {node.supply or 'an ideal supply'} through node {node.node} to {fed}; the table holds the figures",
    )


def _head_strokes(node: Any, supply: Any | None, rows: int) -> Iterator[Stroke]:
    if supply is not None and supply.kind == "battery":
        yield Stroke(f"M{SUPPLY_X - 6:.1f} {TOP - 22:.1f}v44M{SUPPLY_X + 6:.1f} {TOP - 11:.1f}v22", "symbol")
    else:
        yield Stroke(f"M{SUPPLY_X - 20:.1f} {TOP - 20:.1f}h26v40h-26Z", "symbol")
    has_fuse = node.trunk is not None and node.trunk.fuse_a is not None
    start = SUPPLY_X + 6
    if has_fuse:
        yield Stroke(_fuse(FUSE_X, TOP), "symbol")
    yield Stroke(f"M{start:.1f} {TOP:.1f}H{BUS_X:.1f}")
    yield Stroke(f"M{BUS_X:.1f} {TOP - 14:.1f}V{TOP + (rows - 1) * ROW + 14:.1f}", "bus")


def _head_labels(node: Any, supply: Any | None) -> Iterator[Label]:
    yield _label(8, TOP - 88, node.supply or "no supply entered", "name")
    if supply is not None:
        yield _label(8, TOP + 44, volts(supply.terminal_v.nominal))
        yield _label(8, TOP + 62, f"worst {volts(supply.terminal_v.rated)}", "small")
    trunk = node.trunk
    if trunk is not None:
        if trunk.fuse_a is not None:
            yield _label(FUSE_X + FUSE_LENGTH / 2, TOP - 18, f"{trunk.fuse_a:g} A", "small", "middle")
        yield _label(250, TOP - 12, _cable(trunk), "small", "middle")
    yield _label(250, TOP + 22, amperes(node.current.nominal), anchor="middle")
    yield _label(250, TOP + 40, f"worst {amperes(node.current.rated)}", "small", "middle")
    yield _label(BUS_X, TOP - 56, volts(node.bus_v.nominal), anchor="middle")
    yield _label(BUS_X, TOP - 38, f"worst {volts(node.bus_v.rated)}", "small", "middle")


def _branch_strokes(output: Any, load: Any, y: float) -> Iterator[Stroke]:
    if output.lead.fuse_a is not None:
        yield Stroke(_fuse(BRANCH_FUSE_X, y), "symbol")
    yield Stroke(f"M{BUS_X:.1f} {y:.1f}H{SWITCH_X:.1f}")
    yield Stroke(f"M{SWITCH_X:.1f} {y:.1f}l34 -14M{SWITCH_X + 36:.1f} {y - 5:.1f}v10", "symbol")
    yield Stroke(f"M{SWITCH_X + 36:.1f} {y:.1f}H{LOAD_X:.1f}")
    if output.kind == "tape":
        yield from _tape_strokes(load, y)
    elif output.kind == "lamp":
        middle, reach = LOAD_X + LAMP_RADIUS, 0.707 * LAMP_RADIUS
        yield Stroke(
            f"M{LOAD_X:.1f} {y:.1f}a{LAMP_RADIUS:g} {LAMP_RADIUS:g} 0 1 0 {2 * LAMP_RADIUS:g} 0"
            f"a{LAMP_RADIUS:g} {LAMP_RADIUS:g} 0 1 0 {-2 * LAMP_RADIUS:g} 0"
            f"M{middle - reach:.1f} {y - reach:.1f}l{2 * reach:.1f} {2 * reach:.1f}m0 {-2 * reach:.1f}"
            f"l{-2 * reach:.1f} {2 * reach:.1f}",
            "symbol",
        )
    else:
        yield Stroke(f"M{LOAD_X:.1f} {y - 16:.1f}h70v32h-70Z", "symbol")


def _tape_strokes(load: Any, y: float) -> Iterator[Stroke]:
    """A hatched bar, fed from above wherever a cable meets it."""
    top = y - TAPE_HEIGHT / 2
    yield Stroke(f"M{LOAD_X:.1f} {top:.1f}H{END_X:.1f}v{TAPE_HEIGHT:g}H{LOAD_X:.1f}Z", "symbol")
    count = int((END_X - LOAD_X) / TAPE_HATCH)
    hatch = (f"M{LOAD_X + step * TAPE_HATCH:.1f} {top:.1f}v{TAPE_HEIGHT:g}" for step in range(1, count))
    yield Stroke("".join(hatch), "thin")
    shares = _fed_at(load)
    if shares != (0.0,):
        above = top - 14
        drops = "".join(f"M{LOAD_X + one * (END_X - LOAD_X):.1f} {above:.1f}V{top:.1f}" for one in shares)
        last = LOAD_X + max(shares) * (END_X - LOAD_X)
        yield Stroke(f"M{LOAD_X - 14:.1f} {y:.1f}V{above:.1f}H{last:.1f}{drops}")


def _fed_at(load: Any) -> tuple[float, ...]:
    """Where along the tape its cables meet it, as shares of its length."""
    if load.feeding == "both-ends":
        return (0.0, 1.0)
    if load.feeding == "points":
        return tuple(point_m / load.length_m for point_m in load.feed_points_m)
    return (0.0,)


def _branch_labels(output: Any, load: Any, y: float) -> Iterator[Label]:
    if output.lead.fuse_a is not None:
        yield _label(BRANCH_FUSE_X + FUSE_LENGTH / 2, y - 18, f"{output.lead.fuse_a:g} A", "small", "middle")
    yield _label(SWITCH_X + 18, y + 24, f"output {output.output}", "small", "middle")
    lead_x = (LEAD_X + LOAD_X - 20) / 2
    yield _label(lead_x, y - 12, _cable(output.lead), "small", "middle")
    yield _label(lead_x, y + 22, amperes(output.current.nominal), anchor="middle")
    yield _label(lead_x, y + 40, f"worst {amperes(output.current.rated)}", "small", "middle")
    yield _label(LOAD_X, y - 38, output.load, "name")
    yield _label(LOAD_X, y + 34, volts(output.load_v.nominal))
    yield _label(LOAD_X, y + 52, f"worst {volts(output.load_v.rated)}", "small")
    if output.kind == "tape":
        far = "middle" if load.feeding == "both-ends" else "far end" if load.feeding == "one-end" else "lowest"
        yield _label(END_X, y + 34, f"{far} {volts(output.far_v.nominal)}", anchor="end")
        yield _label(END_X, y + 52, f"worst {volts(output.far_v.rated)}", "small", "end")
        yield _label(LOAD_X, y + 70, f"light {percent(output.light.near)} to {percent(output.light.far)}", "small")


def _fuse(x: float, y: float) -> str:
    """A fuse of IEC 60617: a box with the wire through it."""
    return f"M{x:.1f} {y - 8:.1f}h{FUSE_LENGTH:g}v16h{-FUSE_LENGTH:g}Z"


def _cable(conductor: Any) -> str:
    return f"{conductor.length_m:g} m, {conductor.area_mm2:g} mm²"


def _label(x: float, y: float, words: str, kind: str = "", anchor: str = "start") -> Label:
    return Label(f"{x:.1f}", f"{y:.1f}", words, kind, anchor)
