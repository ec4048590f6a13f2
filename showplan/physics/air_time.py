"""Air time: how long a frame takes, and how many frames a limit on sending time lets through."""

from typing import Final

import numpy as np

from showplan.physics.catalogue import Numeric, Parameter, Source, formula

# IEEE 802.15.4 BPSK and O-QPSK PHYs: 40 bits of synchronisation header and 8 bits of PHY header.
STANDARD_OVERHEAD_OCTETS: Final = 6


@formula(
    expression="t = 8 (o + n) / R",
    parameters=(
        Parameter("psdu_octets", "", "octets of the MAC frame, check sum included", None, 5, 2047, 0, 1e5),
        Parameter("bit_rate_kbps", "kbit/s", "bit rate of the PHY", None, 20, 250, maximum=1e5, above=0),
        Parameter(
            "overhead_octets",
            "",
            "octets' worth of preamble, start of frame and PHY header",
            STANDARD_OVERHEAD_OCTETS,
            0,
            64,
            0,
            4096,
        ),
    ),
    result_unit="ms",
    source=Source(
        "IEEE 802.15.4-2006", section="tables 1, 19 and 20, read as constants of a public simulator", standing="read"
    ),
    validity="PHYs whose headers go at the bit rate of the rest: every BPSK and O-QPSK PHY of the standard",
)
def frame_air_time_ms(
    psdu_octets: Numeric, bit_rate_kbps: Numeric, overhead_octets: Numeric = STANDARD_OVERHEAD_OCTETS
) -> Numeric:
    """Time in ms that one frame is on the air, headers included, waiting excluded."""
    return 8 * (overhead_octets + psdu_octets) / bit_rate_kbps


@formula(
    expression="n = 1000 s / t",
    parameters=(
        Parameter("air_time_ms", "ms", "air time of one frame", None, 0.1, 100, maximum=1e6, above=0),
        Parameter("sending_share", "", "largest share of the time that may be sent in", None, 0, 1, 0, 1),
    ),
    result_unit="1/s",
    source=Source("count of frames in the time allowed", standing="derived"),
    validity="mean over the window of the limit; acknowledgements and waiting times come on top",
)
def frames_per_second(air_time_ms: Numeric, sending_share: Numeric) -> Numeric:
    """Most frames a second that one sender gets through a duty or dwell limit. Numbers or arrays that broadcast."""
    frames: Numeric = 1000 * np.asarray(sending_share) / air_time_ms
    return frames
