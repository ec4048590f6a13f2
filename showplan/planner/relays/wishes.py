"""What a crew asks of a relay placement: for which network, with which relays, on which sites, how safe."""

from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, Field

from showplan.planner.scene_types import Height, Label, Point

Step = Annotated[float, Field(ge=0.5, le=100)]
Hops = Annotated[int, Field(ge=1, le=12)]


class _Strict(BaseModel):
    model_config = ConfigDict(extra="forbid", strict=True, frozen=True, allow_inf_nan=False)


class SiteLine(_Strict):
    """A truss, rail or cable run along which relays may stand: a site every `step_m`, ends included."""

    level: Label
    points_m: Annotated[tuple[Point, ...], Field(min_length=2, max_length=50)]
    height_m: Height
    step_m: Step = 3.0


class SiteGrid(_Strict):
    """Sites every `step_m` over a level, at `height_m` above its floor."""

    level: Label
    height_m: Height
    step_m: Step = 3.0


class SiteEdges(_Strict):
    """Sites every `step_m` along the edges of a level and along both faces of its walls, at `height_m`."""

    level: Label
    height_m: Height
    step_m: Step = 3.0


class AirWish(_Strict):
    """How much of the time one frame of the show may take on the air.

    `repeated`: every gateway and relay sends each of the frame's `packets`. `routed`: every node has a packet of its
    own, sent once on each hop of its route; `packets` does not count then.
    """

    kind: Literal["repeated", "routed"]
    packet_octets: Annotated[int, Field(ge=5, le=2047)] = 60
    packets: Annotated[int, Field(ge=1, le=1000)] = 1
    refresh_hz: Annotated[float, Field(gt=0, le=1000)] = 20.0
    share: Annotated[float, Field(gt=0, le=1)] = 0.5


class Demand(_Strict):
    """What one node, or all nodes of one zone, want of every hop to them in place of the general wish."""

    name: Label
    least_delivery: Annotated[float, Field(gt=0, lt=1)]
    extra_margin_db: Annotated[float, Field(ge=0, le=40)] = 0.0


class RelayWishes(_Strict):
    """The question to the optimiser.

    Sites are the venue's candidate sites, where relays stand now, and what `lines`, `grids` and `edges` add. A hop
    counts where it keeps the fade margin plus `extra_margin_db` and delivers `least_delivery` of packets sent once,
    in the worst state of the house; `demands` say otherwise of every hop on the routes of some nodes. `two_routes_for`
    names nodes or zones that want two node-disjoint routes; `routes` is what all others want. `acknowledged`: links
    must hold in both directions.
    """

    network: Label
    relay_type: Label
    most_hops: Hops = 4
    routes: Annotated[int, Field(ge=1, le=2)] = 1
    two_routes_for: tuple[Label, ...] = ()
    least_delivery: Annotated[float, Field(gt=0, lt=1)] = 0.9
    extra_margin_db: Annotated[float, Field(ge=0, le=40)] = 0.0
    demands: tuple[Demand, ...] = ()
    acknowledged: bool = False
    most_relays: Annotated[int, Field(ge=0, le=500)] | None = None
    needs_mains: bool = False
    must: tuple[Label, ...] = ()
    never: tuple[Label, ...] = ()
    given_sites: bool = True
    present_sites: bool = True
    lines: tuple[SiteLine, ...] = ()
    grids: tuple[SiteGrid, ...] = ()
    edges: tuple[SiteEdges, ...] = ()
    gateways_to_choose: Annotated[int, Field(ge=1, le=4)] | None = None
    air: AirWish | None = None
    seconds: Annotated[float, Field(ge=1, le=3600)] = 120.0
