"""Parts of the Scene on power: what feeds a node, what its outputs feed, and the parts of a show day."""

from typing import Annotated, Literal

from pydantic import Field
from pydantic.dataclasses import dataclass

from showplan.planner.scene_types import STRICT, Label, Positive

Share = Annotated[float, Field(ge=0, le=1)]
FuseClass = Literal["blade", "ul", "iec-quick", "iec-time-lag"]


@dataclass(frozen=True, kw_only=True, config=STRICT)
class Supply:
    """A battery or a mains supply. What is None or empty is unknown; the planner then assumes, and says so.

    `nominal_v` is the battery's, of `cells` in series. With `converter_v` a converter stands behind it and gives that
    voltage up to `current_limit_a`; a mains supply gives `nominal_v` up to the same limit. `capacity_ah` holds for a
    discharge over `rated_hours`, of which `state_of_health` is left. There are `packs` alike to change, and `chargers`
    that charge one each. `isolation` is how a mains supply is parted from the mains.
    """

    label: Label
    kind: Literal["battery", "mains"]
    preset: str = ""
    chemistry: str = ""
    cells: Annotated[int, Field(ge=1, le=100)] | None = None
    nominal_v: Annotated[float, Field(gt=0, le=1000)]
    capacity_ah: Positive | None = None
    rated_hours: Positive | None = None
    state_of_health: Annotated[float, Field(gt=0, le=1)] = 0.8
    internal_resistance_ohm: Annotated[float, Field(ge=0, le=1000)] | None = None
    current_limit_a: Positive | None = None
    converter_v: Annotated[float, Field(gt=0, le=1000)] | None = None
    converter_efficiency: Annotated[float, Field(gt=0, le=1)] = 0.85
    isolation: Literal["unknown", "selv", "none"] = "unknown"
    is_limited_power: bool = False
    packs: Annotated[int, Field(ge=1, le=1000)] = 1
    chargers: Annotated[int, Field(ge=0, le=1000)] = 1
    charger_current_a: Positive | None = None


@dataclass(frozen=True, kw_only=True, config=STRICT)
class Load:
    """What one output of a node feeds, the cable that leads there, and the fuse that protects the cable.

    `behaviour` is how its current follows the voltage, '' for what is usual of its kind; an LED string lets none
    through below `dropout_v`. A tape of `length_m` has `tape_ohm_per_m` go and return together, and is fed at one end,
    at both, or at `feed_points_m` from its start, each by a cable of its own of `cable_length_m`. `cables_together`
    counts the loaded cables in one bundle. `inrush_uf` is what charges when it is switched on, `cold_inrush_times` how
    many times its current a cold lamp takes. `fuse_mohm` is the cold resistance.
    """

    label: Label
    kind: Literal["tape", "lamp", "fan", "other"]
    node: Label
    output: Annotated[int, Field(ge=1, le=64)]
    slot: Annotated[int, Field(ge=1, le=512 * 64)] | None = None
    preset: str = ""
    behaviour: Literal["", "constant-current", "resistive", "constant-power", "led-string"] = ""
    rated_v: Annotated[float, Field(gt=0, le=1000)]
    rated_w: Positive | None = None
    rated_a: Positive | None = None
    dropout_v: Annotated[float, Field(gt=0, le=1000)] | None = None
    length_m: Positive | None = None
    tape_ohm_per_m: Annotated[float, Field(gt=0, le=100)] | None = None
    feeding: Literal["one-end", "both-ends", "points"] = "one-end"
    feed_points_m: tuple[Annotated[float, Field(ge=0, le=10_000)], ...] = ()
    is_against_skin: bool = False
    inrush_uf: Annotated[float, Field(ge=0, le=1_000_000)] = 0.0
    cold_inrush_times: Annotated[float, Field(ge=1, le=100)] = 1.0
    cable_length_m: Positive
    cable_area_mm2: Positive
    cables_together: Annotated[int, Field(ge=1, le=20)] = 1
    fuse_a: Positive | None = None
    fuse_class: FuseClass = "blade"
    fuse_v: Positive | None = None
    fuse_breaks_a: Positive | None = None
    fuse_mohm: Annotated[float, Field(ge=0, le=10_000)] = 0.0


@dataclass(frozen=True, kw_only=True, config=STRICT)
class ShowPart:
    """One part of the show day, in order of `position`: what the loads do, as a mean level over its time.

    A pack may be changed before the part where `may_change_packs`; in a `gap` packs are charged and nothing is on. A
    load has the level of its `PartLevel`; else, with `timeline`, what its slot gets there; else `level`.
    """

    name: Label
    position: Annotated[int, Field(ge=0, le=1000)]
    kind: Literal["rehearsal", "pre-set", "act", "interval", "gap"]
    minutes: Annotated[float, Field(gt=0, le=1440)]
    level: Share = 0.0
    may_change_packs: bool = True
    timeline: Label | None = None


@dataclass(frozen=True, kw_only=True, config=STRICT)
class PartLevel:
    """The mean level of one load over one part of the show day."""

    part: Label
    load: Label
    level: Share
