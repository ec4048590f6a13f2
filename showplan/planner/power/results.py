"""What the planner says of power: frozen, with units in the names.

Four states of the circuit are worked out, all outputs on at full level. `rated`: every load takes its rated current at
the supply's nominal voltage; the voltage drop is judged by it. `full`: loads behave as they do, at the highest voltage
of the supply; currents, fuses and heat are judged by the larger of the two. `nominal` and `empty`: loads behave as they
do, at nominal and at cut-off voltage; light is judged by these.
"""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Final, Literal

from showplan.planner.findings import Subject

StateName = Literal["rated", "full", "nominal", "empty"]
STATES: tuple[StateName, ...] = ("rated", "full", "nominal", "empty")
FIELD_WORDS: Final = {
    "switch_on_mohm": "resistance of its switches",
    "switch_k_per_w": "heat of its switches, junction to air",
    "dropout_v": "voltage at which it goes dark",
    "tape_ohm_per_m": "resistance of the tape, go and return",
    "trunk_area_mm2": "cross-section of its trunk",
    "internal_resistance_ohm": "internal resistance",
    "full_charge_v": "voltage when full",
    "cut_off_v": "cut-off voltage",
    "supply_v": "supply",
}


@dataclass(frozen=True)
class Assumed:
    """A value that was not entered, and what was taken instead; `source` says where it is from, or 'from memory'."""

    subject: Subject
    field: str
    value: float
    unit: str
    source: str

    @property
    def what(self) -> str:
        """The field in words."""
        return FIELD_WORDS.get(self.field, self.field.replace("_", " "))

    def in_words(self) -> str:
        """The assumption as a sentence."""
        return f"{self.subject.name}: {self.what} not entered, {self.value:.3g} {self.unit} assumed ({self.source})."


@dataclass(frozen=True)
class InStates:
    """One figure, V or A, in the four states."""

    rated: float
    full: float
    nominal: float
    empty: float

    def mapped(self, change: Callable[[float], float]) -> "InStates":
        """The figures, each changed alike."""
        return InStates(change(self.rated), change(self.full), change(self.nominal), change(self.empty))

    @property
    def most(self) -> float:
        """The largest of the four."""
        return max(self.rated, self.full, self.nominal, self.empty)


@dataclass(frozen=True)
class LinePoint:
    """A point on the way from the supply to the far end: volts there, and amperes that flow on from it.

    `distance_m` is along the conductors from the supply; two points may lie at one distance (before and behind a fuse).
    On a tape it goes on along the tape from where the cable meets it; `along_tape_m` is the place on the tape from
    its start, None off the tape. `rated_*` are for the worst case, `nominal_*` as the loads behave.
    """

    name: str
    distance_m: float
    along_tape_m: float | None
    rated_v: float
    rated_a: float
    nominal_v: float
    nominal_a: float


@dataclass(frozen=True)
class ConductorPower:
    """A trunk or a lead. `ohm` is go and return together, at `conductor_c`.

    `design_a` is the most current it carries, `ampacity_a` what it may carry: the table's `table_a` times the factors
    for ambient temperature and grouping. `fuse_a` is the fuse at its start, None without one; `protected_by_a` the
    smallest fuse before it, or the supply's own limit, that protects it (None: nothing does); `fuse_wanted_a` the
    smallest of its series that carries the current, `largest_fuse_a` the largest that protects the conductor (None:
    none does). `drop_v` is over it alone in the worst case.
    """

    name: str
    length_m: float
    area_mm2: float
    ohm: float
    conductor_c: float
    design_a: float
    table_a: float
    ambient_factor: float
    grouping_factor: float
    ampacity_a: float
    fuse_a: float | None
    fuse_class: str
    protected_by_a: float | None
    fuse_wanted_a: float | None
    largest_fuse_a: float | None
    drop_v: float

    @property
    def use(self) -> float:
        """Share of its ampacity that the conductor carries; above 1 it is too thin."""
        return self.design_a / self.ampacity_a if self.ampacity_a > 0 else float("inf")


@dataclass(frozen=True)
class SwitchPower:
    """The switch of an output at full level: resistance at 25 C and as warm as it gets, heat and junction.

    `junction_c` is None where the heat runs away; `limit_c` is the hottest allowed. `is_fully_on` is None where the
    drive is unknown.
    """

    mohm_at_25_c: float
    mohm_warm: float
    loss_w: float
    junction_c: float | None
    limit_c: float
    is_fully_on: bool | None


@dataclass(frozen=True)
class InrushPower:
    """What flows when an output or a node is switched on: its peak, its I2t, and what the fuse bears many times over.

    `borne_a2s` is None without a fuse.
    """

    peak_a: float
    a2s: float
    borne_a2s: float | None


@dataclass(frozen=True)
class LightPower:
    """Light of a load beside its light at rated voltage (1), in the state `nominal` and at the pack's cut-off.

    `near` at the point of the tape that gets the most, `far` at the one that gets the least, `mean` over the tape;
    for a load at one place all three are alike.
    """

    near: float
    far: float
    mean: float
    far_when_empty: float

    @property
    def evenness(self) -> float:
        """Far over near: 1 is even."""
        return self.far / self.near if self.near > 0 else 0.0


@dataclass(frozen=True)
class OutputPower:
    """One output of a node and what it feeds. Volts and amperes in the four states.

    `current` through the output, `load_v` where the cable meets the load, `far_v` at the point that gets the least.
    `drop_v` is what fuse, switch, trunk and lead take in the worst case, `drop_percent` of the supply's voltage;
    `full_w` is drawn at full level (nominal). `surface_c` is an estimate for tape that is worn, at the highest mean
    level of a show part, `most_level`. `has_collapsed`: no voltage lets the load have its power.
    """

    node: str
    output: int
    load: str
    kind: str
    behaviour: str
    rated_v: float
    rated_a: float
    current: InStates
    load_v: InStates
    far_v: InStates
    drop_v: float
    drop_percent: float
    full_w: float
    light: LightPower
    lead: ConductorPower
    switch: SwitchPower
    inrush: InrushPower
    most_level: float
    surface_c: float | None
    has_collapsed: bool
    points: tuple[LinePoint, ...]


@dataclass(frozen=True)
class PartEnergy:
    """One part of the show day for a supply.

    `mean_a` is drawn from pack or mains, `drawn_wh` over the part. `share` of a full pack it takes, `left` is what the
    pack in use has at its end (1: full; below 0: it runs out), both None for mains. `is_changed`: a fresh pack goes in
    before it; `pack` is the number of the pack in use, from 1.
    """

    part: str
    kind: str
    minutes: float
    mean_a: float
    drawn_wh: float
    share: float | None
    left: float | None
    pack: int | None
    is_changed: bool


@dataclass(frozen=True)
class Charging:
    """A pack on a charger in a gap of the day: minutes from the gap's start, levels as shares of a full pack."""

    part: str
    pack: int
    charger: int
    from_minute: float
    minutes: float
    level_before: float
    level_after: float


@dataclass(frozen=True)
class PackDay:
    """Packs of one supply through the show day.

    `usable_ah` is what a pack gives here, of `capacity_ah` by temperature and ageing. Hours keep a share of `reserve`:
    `hours_at_full` with everything on, `hours_of_show` at the mean of all parts but the gaps; None where nothing is
    drawn. `day_share` of one pack the whole day takes. `packs_needed` with charging in the gaps; `changes` of pack.
    `unserved` are parts that no pack lasts through until it may be changed. `charge_hours` for one empty pack. After
    the day `overnight_h` fill all packs (None without a charger), of `night_h` there are.
    """

    usable_ah: float
    usable_wh: float
    capacity_ah: float
    temperature_factor: float
    ageing_factor: float
    reserve: float
    hours_at_full: float | None
    hours_of_show: float | None
    day_share: float
    packs: int
    packs_needed: int
    changes: int
    unserved: tuple[str, ...]
    charge_hours: float
    overnight_h: float | None
    night_h: float
    charging: tuple[Charging, ...]

    @property
    def margin(self) -> float:
        """What is left of the packs there are, as a share of the day's need; below 0 they do not last."""
        return self.packs / self.packs_needed - 1 if self.packs_needed else 0.0


@dataclass(frozen=True)
class SupplyPower:
    """A supply and the nodes it feeds.

    `emf_v` before and `terminal_v` behind its internal resistance; `current` is drawn by all nodes together.
    `limit_a` is None where it is unknown; `short_circuit_a` is what a fuse must break, None where unknown.
    `watt_hours` of one pack are by its rating; they and `day` are None for mains and for a pack of unknown capacity.
    Without entered parts of the day only `day.hours_at_full` tells something.
    """

    supply: str
    kind: str
    chemistry: str
    nodes: tuple[str, ...]
    emf_v: InStates
    terminal_v: InStates
    current: InStates
    internal_ohm: float
    limit_a: float | None
    short_circuit_a: float | None
    watt_hours: float | None
    parts: tuple[PartEnergy, ...]
    day: PackDay | None
    assumed: tuple[Assumed, ...]

    @property
    def use(self) -> float | None:
        """Share of the current limit that is drawn, None where it is unknown."""
        return self.current.most / self.limit_a if self.limit_a else None


@dataclass(frozen=True)
class NodePower:
    """A node: its trunk, the voltage where its outputs branch off, and its outputs in order.

    `supply` is None where none was entered; an ideal one at the loads' rated voltage is assumed then. `trunk` is None
    where the supply sits at the node. `inrush` is of the node itself, through its main fuse. `standing_a` is what radio
    and controller draw, `energy_wh` what the node takes over each show part, by name.
    """

    node: str
    supply: str | None
    bus_v: InStates
    current: InStates
    standing_a: float
    trunk: ConductorPower | None
    inrush: InrushPower
    outputs: tuple[OutputPower, ...]
    energy_wh: tuple[tuple[str, float], ...]
    assumed: tuple[Assumed, ...]

    def output(self, load: str) -> OutputPower:
        """The output that feeds the load of that label."""
        return next(one for one in self.outputs if one.load == load)


@dataclass(frozen=True)
class ScenePower:
    """Power of all nodes that feed something or are fed by an entered supply, placed or not, and of all supplies.

    `warmest_c` is the air for which currents and heat are judged, `coldest_c` that for the packs.
    """

    warmest_c: float
    coldest_c: float
    nodes: tuple[NodePower, ...]
    supplies: tuple[SupplyPower, ...]

    def node(self, label: str) -> NodePower:
        """The node of that label."""
        return next(one for one in self.nodes if one.node == label)

    def supply(self, label: str) -> SupplyPower:
        """The supply of that label."""
        return next(one for one in self.supplies if one.supply == label)

    def supply_of(self, node: NodePower) -> SupplyPower | None:
        """What feeds the node, None where no supply was entered."""
        return self.supply(node.supply) if node.supply is not None else None
