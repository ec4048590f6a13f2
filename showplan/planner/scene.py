"""The Scene: a frozen picture of one venue and the kit that plays there.

Everything the planner computes follows from a Scene alone. Its parts refer to each other by the names people
use (a node's label, a level's name), so the same venue gives the same Scene from any database, in any order of
entry. Positions are metres in the venue's flat coordinate system; heights are above the floor of a level.

The field types carry their own bounds and become the published JSON schema (`scene_file.schema`).
"""

from dataclasses import fields
from functools import cached_property
from typing import Annotated, Any, Final, Literal, cast

from pydantic import Field
from pydantic.dataclasses import dataclass

from showplan.planner.scene_power import FuseClass, Load, PartLevel, ShowPart, Supply
from showplan.planner.scene_show import Timeline
from showplan.planner.scene_traffic import Feed, OwnPhy, Traffic
from showplan.planner.scene_types import STRICT, Gain, Height, Label, Loss, Point, Positive, PowerDbm

SCHEMA_VERSION: Final = 1


@dataclass(frozen=True, kw_only=True, config=STRICT)
class WallLoss:
    """What a calibration found one material to cost, in dB; `kind` tells walls from floors."""

    kind: Literal["wall", "floor"]
    material: Label
    loss_db: Loss


@dataclass(frozen=True, kw_only=True, config=STRICT)
class VenueCalibration:
    """What walk tests taught: it replaces the exponent, the losses named and the shadowing of the tables.

    `reference_offset_db` is added to free space at 1 m. `furthest_m` is the longest path that was measured, `network`
    the one whose PHY it was measured with, `latest_reading_at` the time of the last reading in it; both may be unknown.
    """

    name: Label
    reference_offset_db: Annotated[float, Field(ge=-40, le=40)]
    path_loss_exponent: Annotated[float, Field(ge=0.5, le=8)]
    shadowing_sigma_db: Annotated[float, Field(gt=0, le=30)]
    wall_losses: tuple[WallLoss, ...] = ()
    furthest_m: Positive
    network: Annotated[str, Field(max_length=80)] = ""
    latest_reading_at: Annotated[str, Field(max_length=80)] = ""


@dataclass(frozen=True, kw_only=True, config=STRICT)
class VenueFacts:
    """The venue itself and what the radio planner assumes of it.

    `surroundings` names the row that the models without a wall plan take from the tables. Power is planned for the
    `coldest_c` and the `warmest_c` of the air where the kit works; from `drop_warn_percent` of the voltage a lead's
    drop is worth a look, above `drop_stop_percent` it is refused. `is_wet`: rain, mist or damp reaches the kit.
    `reached_by_air`: the kit flies here.
    """

    name: Label
    project: Label
    region: Label
    environment: Label
    path_loss_model: Literal["free-space", "log-distance", "site-general", "indoor-by-sight", "two-ray"] = (
        "log-distance"
    )
    path_loss_exponent: Annotated[float, Field(ge=1, le=6)]
    surroundings: str = ""
    fade_margin_db: Annotated[float, Field(ge=0, le=60)]
    calibration: VenueCalibration | None = None
    coldest_c: Annotated[float, Field(ge=-40, le=60)] = 15.0
    warmest_c: Annotated[float, Field(ge=-40, le=60)] = 30.0
    is_wet: bool = False
    reached_by_air: bool = False
    drop_warn_percent: Annotated[float, Field(gt=0, le=50)] = 3.0
    drop_stop_percent: Annotated[float, Field(gt=0, le=50)] = 10.0


@dataclass(frozen=True, kw_only=True, config=STRICT)
class Level:
    """A rectangle of the plan at an elevation; its floor is a slab of `floor_material`."""

    name: Label
    elevation_m: Annotated[float, Field(ge=-500, le=500)]
    clear_height_m: Annotated[float, Field(gt=0, le=500)]
    origin_m: Point
    width_m: Positive
    depth_m: Positive
    floor_material: Label

    def contains(self, point_m: Point) -> bool:
        """Whether the point lies on this level; its edge counts as inside."""
        (x0, y0), (x, y) = self.origin_m, point_m
        return x0 <= x <= x0 + self.width_m and y0 <= y <= y0 + self.depth_m

    def extent(self) -> str:
        """The rectangle in words."""
        (x0, y0) = self.origin_m
        return f"x {x0:g} to {x0 + self.width_m:g} m, y {y0:g} to {y0 + self.depth_m:g} m"


@dataclass(frozen=True, kw_only=True, config=STRICT)
class Wall:
    """A straight obstacle from `start_m` to `end_m`, from `base_m` up to `base_m + height_m` above the floor.

    With `has_open_top` radio may also bend over its upper edge: a riser, a barrier, a low flat.
    """

    label: Label
    level: Label
    start_m: Point
    end_m: Point
    base_m: Height = 0.0
    height_m: Annotated[float, Field(gt=0, le=500)]
    material: Label
    has_open_top: bool = False


@dataclass(frozen=True, kw_only=True, config=STRICT)
class CrowdArea:
    """Where the audience is when the house is full: people up to `height_m` who cost so much a metre."""

    label: Label
    level: Label
    corners_m: Annotated[tuple[Point, ...], Field(min_length=3)]
    height_m: Annotated[float, Field(gt=0, le=10)]
    loss_db_per_m: Annotated[float, Field(ge=0, le=50)]
    most_db: Loss


@dataclass(frozen=True, kw_only=True, config=STRICT)
class Zone:
    """A simple polygon on a level in which a moving node must be served."""

    name: Label
    level: Label
    corners_m: Annotated[tuple[Point, ...], Field(min_length=3)]


@dataclass(frozen=True, kw_only=True, config=STRICT)
class CandidateSite:
    """A position where a relay or gateway may stand; `cost` in the crew's own measure, 1 for one like any other."""

    label: Label
    level: Label
    position_m: Point
    height_m: Height
    has_mains: bool
    cost: Annotated[float, Field(ge=0.01, le=1000)] = 1.0
    relay_use: Literal["may", "must", "never"] = "may"


@dataclass(frozen=True, kw_only=True, config=STRICT)
class OccupiedSpectrum:
    """Radio that is already in the venue, and the share of the time, 0 to 1, in which it sends.

    `full_house_dbm` and `full_house_busy_share` hold once the audience is in, where that differs.
    """

    label: Label
    centre_mhz: Annotated[float, Field(gt=0, le=100_000)]
    bandwidth_mhz: Positive
    received_dbm: PowerDbm | None = None
    busy_share: Annotated[float, Field(ge=0, le=1)] = 0.1
    full_house_dbm: PowerDbm | None = None
    full_house_busy_share: Annotated[float, Field(ge=0, le=1)] | None = None


@dataclass(frozen=True, kw_only=True, config=STRICT)
class NodeType:
    """A sort of hardware. A patch has a pattern cos^n with `pattern_exponent` and `front_to_back_db`.

    Each output has a switch on the low side: `switch_on_mohm` at 25 C and at a drive of `switch_rated_drive_v`, really
    driven with `drive_v`; it begins to conduct at `switch_threshold_v` at the latest. `switch_k_per_w` is from junction
    to air, `switch_limit_c` the hottest junction allowed. It dims at `dimming_hz`, 0 for on and off alone, with edges
    of `switch_edge_us`. `input_uf` charges when the node is switched on.
    """

    name: Label
    phy: Label
    transmit_power_dbm: Annotated[float, Field(ge=-60, le=40)]
    antenna_gain_dbi: Gain
    cable_loss_db: Annotated[float, Field(ge=0, le=60)]
    sensitivity_dbm: Annotated[float, Field(ge=-150, le=0)]
    outputs: Annotated[int, Field(ge=0, le=64)]
    output_limit_a: Positive | None = None
    standing_current_ma: Annotated[float, Field(ge=0)] = 0.0
    antenna_pattern: Literal["omni", "dipole", "patch"] = "omni"
    pattern_exponent: Annotated[float, Field(ge=0, le=50)] = 2.0
    front_to_back_db: Annotated[float, Field(ge=0, le=60)] = 15.0
    polarisation: Literal["vertical", "horizontal", "circular"] = "vertical"
    noise_figure_db: Annotated[float, Field(ge=0, le=30)] = 6.0
    switch_on_mohm: Positive | None = None
    switch_rated_drive_v: Annotated[float, Field(gt=0, le=30)] | None = None
    switch_threshold_v: Annotated[float, Field(gt=0, le=30)] | None = None
    drive_v: Annotated[float, Field(gt=0, le=30)] | None = None
    switch_k_per_w: Positive | None = None
    switch_limit_c: Annotated[float, Field(gt=25, le=200)] = 110.0
    switch_edge_us: Positive | None = None
    dimming_hz: Annotated[float, Field(ge=0, le=1_000_000)] | None = None
    input_uf: Annotated[float, Field(ge=0, le=1_000_000)] = 0.0


@dataclass(frozen=True, kw_only=True, config=STRICT)
class Network:
    """The nodes that share one radio channel and PAN identifier."""

    name: Label
    phy: Label
    radio_channel: Annotated[int, Field(ge=0, le=1000)]
    pan_id: Annotated[int, Field(ge=0, le=0xFFFE)]


@dataclass(frozen=True, kw_only=True, config=STRICT)
class Placement:
    """Where a node is: at `position_m` on a level, or anywhere in a zone of it.

    `aim_deg` is where a patch looks in plan, anticlockwise from the x axis; `tilt_deg` how far it looks up.
    """

    level: Label
    zone: Label | None = None
    position_m: Point | None = None
    height_m: Height
    aim_deg: Annotated[float, Field(ge=-360, le=360)] = 0.0
    tilt_deg: Annotated[float, Field(ge=-90, le=90)] = 0.0


@dataclass(frozen=True, kw_only=True, config=STRICT)
class Node:
    """A radio device of the kit; `placement` is None while it has no place in this venue.

    `on_signal_loss` is what its outputs do when no packet has come for `signal_lost_after_s`. A cable of
    `trunk_length_m` leads from the supply to the node, with the main fuse at its start.
    """

    label: Label
    role: Literal["gateway", "relay", "receiver"]
    node_type: Label
    network: Label | None = None
    short_address: Annotated[int, Field(ge=0, le=0xFFFD)] | None = None
    supply: Label | None = None
    crew: Label | None = None
    is_worn: bool = False
    on_signal_loss: Literal["hold", "fade-out", "switch-off"] = "hold"
    signal_lost_after_s: Annotated[float, Field(gt=0, le=3600)] = 1.0
    trunk_length_m: Positive | None = None
    trunk_area_mm2: Positive | None = None
    main_fuse_a: Positive | None = None
    main_fuse_class: FuseClass = "blade"
    main_fuse_v: Positive | None = None
    main_fuse_breaks_a: Positive | None = None
    main_fuse_mohm: Annotated[float, Field(ge=0, le=10_000)] = 0.0
    placement: Placement | None = None


@dataclass(frozen=True, kw_only=True, config=STRICT)
class Reading:
    """One walk-test entry."""

    level: Label
    position_m: Point
    height_m: Height
    transmitter: Label
    receiver_type: Label
    received_dbm: PowerDbm | None = None
    packet_error: Annotated[float, Field(ge=0, le=1)] | None = None
    taken_at: Label


@dataclass(frozen=True, kw_only=True, config=STRICT)
class Scene:
    """One venue with everything that plays there. Build it with `scene_file.read` or `services.scenes`."""

    schema_version: Literal[1] = SCHEMA_VERSION
    venue: VenueFacts
    levels: tuple[Level, ...] = ()
    walls: tuple[Wall, ...] = ()
    zones: tuple[Zone, ...] = ()
    crowd_areas: tuple[CrowdArea, ...] = ()
    candidate_sites: tuple[CandidateSite, ...] = ()
    occupied_spectrum: tuple[OccupiedSpectrum, ...] = ()
    node_types: tuple[NodeType, ...] = ()
    own_phys: tuple[OwnPhy, ...] = ()
    networks: tuple[Network, ...] = ()
    traffics: tuple[Traffic, ...] = ()
    feeds: tuple[Feed, ...] = ()
    supplies: tuple[Supply, ...] = ()
    nodes: tuple[Node, ...] = ()
    loads: tuple[Load, ...] = ()
    show_parts: tuple[ShowPart, ...] = ()
    part_levels: tuple[PartLevel, ...] = ()
    timelines: tuple[Timeline, ...] = ()
    readings: tuple[Reading, ...] = ()

    def level(self, name: str) -> Level:
        """The level of that name."""
        return cast(Level, self._indexes["levels"][name])

    def zone(self, name: str, level: str) -> Zone:
        """The zone of that name on that level."""
        return cast(Zone, self._indexes["zones"][level, name])

    def node_type(self, name: str) -> NodeType:
        """The node type of that name."""
        return cast(NodeType, self._indexes["node_types"][name])

    def network(self, name: str) -> Network:
        """The network of that name."""
        return cast(Network, self._indexes["networks"][name])

    def own_phy(self, key: str) -> OwnPhy:
        """The PHY of the crew's own with that key."""
        return cast(OwnPhy, self._indexes["own_phys"][key])

    def traffic(self, network: str) -> Traffic:
        """How the network of that name sends the show: as entered, else in the usual way."""
        return cast(Traffic, self._indexes["traffics"].get(network) or Traffic(network=network))

    def feed(self, network: str) -> Feed | None:
        """The feed into the network of that name, or None where none was entered."""
        return cast(Feed | None, self._indexes["feeds"].get(network))

    def timeline(self, name: str) -> Timeline:
        """The timeline of that name."""
        return cast(Timeline, self._indexes["timelines"][name])

    def node(self, label: str) -> Node:
        """The node of that label."""
        return cast(Node, self._indexes["nodes"][label])

    def placed_nodes(self) -> tuple[Node, ...]:
        """The nodes that have a place in this venue."""
        return tuple(node for node in self.nodes if node.placement is not None)

    @cached_property
    def _indexes(self) -> dict[str, dict[Any, Any]]:
        return {name: {key_of(part): part for part in getattr(self, name)} for name in COLLECTIONS}


def key_of(part: Any) -> Any:
    """What identifies a part within its collection: its name or label, with the level where labels repeat."""
    match part:
        case Zone():
            return part.level, part.name
        case Wall() | CandidateSite() | CrowdArea():
            return part.level, part.label
        case OwnPhy():
            return part.key
        case Traffic() | Feed():
            return part.network
        case PartLevel():
            return part.part, part.load
        case Reading():
            return (
                part.taken_at,
                part.transmitter,
                part.level,
                part.position_m,
                part.height_m,
                part.receiver_type,
            )
        case _:
            return part.label if hasattr(part, "label") else part.name


COLLECTIONS = tuple(field.name for field in fields(Scene) if field.name not in ("schema_version", "venue"))
