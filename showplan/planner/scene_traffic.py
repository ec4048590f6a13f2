"""Parts of the Scene on the show's data: PHYs of the crew's own, how each network sends, and the feeds."""

from typing import Annotated, Literal

from pydantic import Field
from pydantic.dataclasses import dataclass

from showplan.planner.scene_types import STRICT, Label, Positive


@dataclass(frozen=True, kw_only=True, config=STRICT)
class OwnPhy:
    """A PHY of the crew's own: any licence-free packet radio, beside the table's. Times in microseconds.

    `header_octets` is what preamble, start of frame and PHY header take, counted at the bit rate of the rest;
    `longest_frame_octets` is the longest MAC frame, check sum included. Radio channel n has its centre at
    `first_centre_mhz` + (n - `first_channel`) x `spacing_mhz`.
    """

    key: Label
    band_low_mhz: Annotated[float, Field(gt=0, le=100_000)]
    band_high_mhz: Annotated[float, Field(gt=0, le=100_000)]
    first_channel: Annotated[int, Field(ge=0, le=1000)] = 0
    last_channel: Annotated[int, Field(ge=0, le=1000)] = 0
    first_centre_mhz: Annotated[float, Field(gt=0, le=100_000)]
    spacing_mhz: Annotated[float, Field(ge=0, le=1000)] = 0.0
    bandwidth_mhz: Positive
    bit_rate_kbps: Annotated[float, Field(gt=0, le=100_000)]
    header_octets: Annotated[float, Field(ge=0, le=1000)] = 6.0
    longest_frame_octets: Annotated[int, Field(ge=20, le=4095)] = 127
    turnaround_us: Annotated[float, Field(gt=0, le=100_000)] = 192.0
    sensing_us: Annotated[float, Field(gt=0, le=100_000)] = 128.0
    frame_gap_us: Annotated[float, Field(ge=0, le=1_000_000)] = 640.0
    sensitivity_dbm: Annotated[float, Field(ge=-150, le=0)]


@dataclass(frozen=True, kw_only=True, config=STRICT)
class Traffic:
    """How a network sends the show; what is left out is the usual way.

    Every frame carries one octet for each slot that its nodes use. `coding` sends all of them, or those that change, a
    `changed_share` of them or what changes in `timeline`, and everything each `keep_alive_s`. `addressing`: packets for
    all, for `groups` groups of nodes, or one for each node, acknowledged with up to `retries` further tries or sent
    `copies` times. `relaying`: each packet by its node's route, repeated by every relay after a random wait of up to
    `jitter_ms`, or not at all. `min_be`, `max_be` and `max_backoffs` are the constants of unslotted CSMA-CA.
    """

    network: Label
    refresh_hz: Annotated[float, Field(gt=0, le=1000)] = 25.0
    header_octets: Annotated[int, Field(ge=0, le=64)] = 4
    coding: Literal["full", "changes"] = "full"
    changed_share: Annotated[float, Field(gt=0, le=1)] = 0.3
    timeline: Label | None = None
    keep_alive_s: Annotated[float, Field(gt=0, le=3600)] = 1.0
    addressing: Literal["all", "groups", "each"] = "all"
    groups: Annotated[int, Field(ge=1, le=1000)] = 4
    acknowledged: bool = False
    retries: Annotated[int, Field(ge=0, le=7)] = 3
    copies: Annotated[int, Field(ge=1, le=10)] = 1
    relaying: Literal["routed", "repeated", "none"] = "repeated"
    jitter_ms: Annotated[float, Field(ge=0, le=10_000)] = 20.0
    addresses: Literal["short", "extended"] = "short"
    security: Literal["none", "mic-32", "mic-64", "mic-128"] = "none"
    min_be: Annotated[int, Field(ge=0, le=8)] = 3
    max_be: Annotated[int, Field(ge=0, le=8)] = 5
    max_backoffs: Annotated[int, Field(ge=0, le=5)] = 4
    node_buffer_octets: Annotated[int, Field(ge=16, le=1_000_000)] = 256


@dataclass(frozen=True, kw_only=True, config=STRICT)
class Feed:
    """The stream from the control computer into a network's gateways.

    `slots` counts what the feed carries whether a node uses it or not. `frame_octets` is what a serial frame has
    besides its slots; `escaping` doubles two reserved values of 256. `hold_back_ms` is how long a bridge may keep
    octets. `rate_hz` is None where the feed sends as often as it can. A buffer of `buffer_octets` waits in the gateway.
    """

    network: Label
    kind: Literal["serial", "e1.11", "e1.31"] = "serial"
    slots: Annotated[int, Field(ge=1, le=512 * 64)] = 512
    rate_hz: Annotated[float, Field(gt=0, le=1000)] | None = None
    baud: Annotated[int, Field(ge=300, le=10_000_000)] = 57_600
    data_bits: Annotated[int, Field(ge=5, le=9)] = 8
    parity: Literal["none", "even", "odd"] = "none"
    stop_bits: Literal[1, 2] = 1
    frame_octets: Annotated[int, Field(ge=0, le=1000)] = 5
    escaping: bool = False
    clock_error_percent: Annotated[float, Field(ge=-20, le=20)] = 0.0
    hold_back_ms: Annotated[float, Field(ge=0, le=1000)] = 0.0
    buffer_octets: Annotated[int, Field(ge=1, le=10_000_000)] = 256
