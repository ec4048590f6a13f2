"""Octets of a MAC frame: its header, what security and check sum take, and what is left for the show."""

from typing import Final

import numpy as np

from showplan.physics.catalogue import Numeric, Parameter, Source, formula

FCS_OCTETS: Final = 2
_HEADER: Final = Source("IEEE 802.15.4-2006, clause 7.2", section="read in public source files", standing="read")
_COUNT: Final = Source("count of octets", standing="derived")


def _octets(name: str, meaning: str, default: float | None = None, high: float = 2047, low: float = 0) -> Parameter:
    return Parameter(name, "", meaning, default, low, high, 0, 1e6)


@formula(
    expression="h = 3 + d + s + 2 [d > 0] + 2 [s > 0 and two PAN identifiers]",
    parameters=(
        _octets("destination_octets", "address of the destination: 0, 2 or 8 octets", high=8),
        _octets("source_octets", "address of the source: 0, 2 or 8 octets", high=8),
        Parameter("pan_identifiers", "", "1 where both ends share one PAN, else 2", 1, 1, 2, 1, 2, whole_number=True),
    ),
    result_unit="",
    source=_HEADER,
    validity="data frames: frame control, sequence number and addresses; security and check sum come on top",
)
def mac_header_octets(destination_octets: Numeric, source_octets: Numeric, pan_identifiers: Numeric = 1) -> Numeric:
    """Octets of the MAC header before security and payload. Numbers or arrays that broadcast."""
    destination, source = np.asarray(destination_octets, float), np.asarray(source_octets, float)
    own_pan = (source > 0) & (np.asarray(pan_identifiers) > 1)
    header: Numeric = 3 + destination + source + 2.0 * (destination > 0) + 2.0 * own_pan
    return header


@formula(
    expression="x = n − h − a − m − f",
    parameters=(
        _octets("longest_frame_octets", "longest MAC frame of the PHY", low=20),
        _octets("header_octets", "MAC header", high=23),
        _octets("security_octets", "auxiliary security header and integrity code", 0, high=30),
        _octets("check_octets", "check sum", FCS_OCTETS, high=4),
    ),
    result_unit="",
    source=_COUNT,
    validity="one frame; 127 octets at most on the PHYs of 2006, 2047 on SUN FSK",
)
def payload_limit_octets(
    longest_frame_octets: Numeric,
    header_octets: Numeric,
    security_octets: Numeric = 0,
    check_octets: Numeric = FCS_OCTETS,
) -> Numeric:
    """Most octets that one frame carries for the layers above; may be negative: nothing fits."""
    return longest_frame_octets - header_octets - security_octets - check_octets


@formula(
    expression="k = ⌈n / x⌉",
    parameters=(
        _octets("level_octets", "octets to be sent, one a slot"),
        Parameter("packet_levels", "", "octets of levels that one packet holds", None, 1, 2047, 1, 1e6),
    ),
    result_unit="",
    source=_COUNT,
    validity="levels packed one after the other",
)
def packets_per_frame(level_octets: Numeric, packet_levels: Numeric) -> Numeric:
    """Packets that one frame of the show needs. Numbers or arrays that broadcast."""
    packets: Numeric = np.ceil(np.asarray(level_octets) / packet_levels)
    return packets


@formula(
    expression="P = 1 − (1 − p)^k",
    parameters=(
        Parameter("packet_loss", "", "share of packets lost", None, 0, 1, 0, 1),
        Parameter("packets", "", "packets that all must arrive", None, 1, 10, 0, 1e6),
    ),
    result_unit="",
    source=Source("independent losses", standing="derived"),
    validity="what is cut into pieces is whole only when every piece arrives",
)
def any_lost(packet_loss: Numeric, packets: Numeric) -> Numeric:
    """Share of messages that lose at least one of their packets. Numbers or arrays that broadcast."""
    lost: Numeric = 1 - (1 - np.asarray(packet_loss)) ** np.asarray(packets)
    return lost
