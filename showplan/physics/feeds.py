"""The feed into a gateway: serial lines, ANSI E1.11 and E1.31, and the gateway's buffer."""

from typing import Final

import numpy as np

from showplan.physics.catalogue import Numeric, Parameter, Source, formula

_SLOTS: Final = Parameter("slots", "", "control values", None, 1, 512, 0, 1e6)
_OCTETS_PER_S: Final = Parameter(
    "octets_per_s", "1/s", "octets that the line carries", None, 1, 1e6, maximum=1e9, above=0
)
_LINE: Final = Source("start bit, data, parity and stop bits of an asynchronous line", standing="derived")
_CLOCK: Final = Source(
    "a chip maker's page on the error tolerance of its receiver", section="table read", standing="read"
)
_E111: Final = Source("ANSI E1.11-2008", section="timing tables, from memory", standing="memory")
_E131: Final = Source("ANSI E1.31", section="packet layout, from memory", standing="memory")
_SAMPLES: Final = Parameter("samples", "", "samples of each bit", 16, 8, 16, 4, 256, whole_number=True)
_BITS: Final = Parameter("data_bits", "", "data and parity bits", 8, 5, 10, 1, 64, whole_number=True)


@formula(
    expression="n = B / (1 + d + p + s)",
    parameters=(
        Parameter("baud", "1/s", "bits a second", None, 300, 1e6, maximum=1e9, above=0),
        Parameter("data_bits", "", "data bits", 8, 5, 9, 1, 64),
        Parameter("parity_bits", "", "parity bits", 0, 0, 1, 0, 1),
        Parameter("stop_bits", "", "stop bits", 1, 1, 2, 1, 2),
    ),
    result_unit="1/s",
    source=_LINE,
    validity="octets sent without pauses between them",
)
def serial_octets_per_s(
    baud: Numeric, data_bits: Numeric = 8, parity_bits: Numeric = 0, stop_bits: Numeric = 1
) -> Numeric:
    """Octets a second on an asynchronous line. Numbers or arrays that broadcast."""
    octets: Numeric = np.asarray(baud) / (1 + np.asarray(data_bits) + parity_bits + stop_bits)
    return octets


@formula(
    expression="f = n / (slots + o)",
    parameters=(
        _SLOTS,
        Parameter("frame_octets", "", "octets of a frame besides its slots", None, 0, 100, 0, 1e5),
        _OCTETS_PER_S,
    ),
    result_unit="1/s",
    source=_LINE,
    validity="frames one after the other",
)
def stream_frames_per_s(slots: Numeric, frame_octets: Numeric, octets_per_s: Numeric) -> Numeric:
    """Frames a second that a line carries. Numbers or arrays that broadcast."""
    return np.asarray(octets_per_s) / (np.asarray(slots) + frame_octets)


@formula(
    expression="e = 1 + r / 256",
    parameters=(Parameter("reserved", "", "values that are sent as two octets", 2, 0, 8, 0, 256),),
    result_unit="",
    source=Source("all 256 values equally likely", standing="derived"),
    validity="mean over even data; at worst every octet doubles",
)
def escaping_factor(reserved: Numeric = 2) -> Numeric:
    """By how much escape coding lengthens a stream in the mean."""
    return 1 + np.asarray(reserved) / 256


@formula(
    expression="R = (D + 1) S / (S − 1 + D S + S_F), S_F = S / 2",
    parameters=(_BITS, _SAMPLES),
    result_unit="%",
    source=_CLOCK,
    validity="slowest sender that a receiver still reads; recommended are errors of 2 % at most",
)
def slowest_baud_percent(data_bits: Numeric = 8, samples: Numeric = 16) -> Numeric:
    """Slowest rate of a sender, in % of the receiver's, that is read rightly."""
    s, d = np.asarray(samples, float), np.asarray(data_bits, float)
    rate: Numeric = 100 * (d + 1) * s / (s - 1 + d * s + s / 2)
    return rate


@formula(
    expression="R = (D + 2) S / ((D + 1) S + S_M), S_M = S / 2 + 1",
    parameters=(_BITS, _SAMPLES),
    result_unit="%",
    source=_CLOCK,
    validity="fastest sender that a receiver still reads; recommended are errors of 2 % at most",
)
def fastest_baud_percent(data_bits: Numeric = 8, samples: Numeric = 16) -> Numeric:
    """Fastest rate of a sender, in % of the receiver's, that is read rightly."""
    s, d = np.asarray(samples, float), np.asarray(data_bits, float)
    rate: Numeric = 100 * (d + 2) * s / ((d + 1) * s + s / 2 + 1)
    return rate


@formula(
    expression="e = 100 (f / (S k B) − 1), k = f / (S B) to the nearest whole number",
    parameters=(
        Parameter("clock_mhz", "MHz", "clock that is divided", None, 1, 100, maximum=1e5, above=0),
        Parameter("baud", "1/s", "rate wanted", None, 300, 1e6, maximum=1e9, above=0),
        _SAMPLES,
    ),
    result_unit="%",
    source=Source("whole divider", standing="derived"),
    validity="dividers without a fraction",
)
def divider_error_percent(clock_mhz: Numeric, baud: Numeric, samples: Numeric = 16) -> Numeric:
    """Error in % of a rate made by dividing a clock by a whole number. Numbers or arrays that broadcast."""
    ratio = np.asarray(clock_mhz) * 1e6 / (np.asarray(samples) * np.asarray(baud))
    error: Numeric = 100 * (ratio / np.maximum(np.floor(ratio + 0.5), 1.0) - 1)
    return error


@formula(
    expression="t = 1000 b / n",
    parameters=(Parameter("octets", "", "octets", None, 0, 1e5, 0, 1e9), _OCTETS_PER_S),
    result_unit="ms",
    source=_LINE,
    validity="transfer of so many octets, or a buffer of that size filling while nothing leaves it",
)
def line_time_ms(octets: Numeric, octets_per_s: Numeric) -> Numeric:
    """Time in ms that octets take on a line. Numbers or arrays that broadcast."""
    return 1000 * np.asarray(octets) / octets_per_s


@formula(
    expression="b = B (1 − out / in), and 0 for out ≥ in",
    parameters=(
        Parameter("burst_octets", "", "octets of the burst", None, 1, 1e5, 0, 1e9),
        Parameter("in_per_s", "1/s", "octets that come in", None, 1, 1e6, maximum=1e9, above=0),
        Parameter("out_per_s", "1/s", "octets that go out", None, 0, 1e6, 0, 1e9),
    ),
    result_unit="",
    source=Source("balance of a buffer", standing="derived"),
    validity="both flow evenly; a stalled radio fills the buffer faster",
)
def burst_backlog_octets(burst_octets: Numeric, in_per_s: Numeric, out_per_s: Numeric) -> Numeric:
    """Octets still waiting when a burst has come in. Numbers or arrays that broadcast."""
    backlog: Numeric = burst_octets * np.maximum(1 - np.asarray(out_per_s) / in_per_s, 0.0)
    return backlog


@formula(
    expression="t = (B + M + 44 (n + 1)) / 1000, at least 1.204 ms",
    parameters=(
        Parameter("slots", "", "control values", None, 1, 512, 0, 512),
        Parameter("break_us", "µs", "break", 92, 88, 1e4, 88, 1e6),
        Parameter("mark_us", "µs", "mark after break", 12, 8, 1e4, 8, 1e6),
    ),
    result_unit="ms",
    source=_E111,
    validity="250 kbit/s, eight bits, two stop bits, no pauses between slots",
)
def e111_packet_ms(slots: Numeric, break_us: Numeric = 92, mark_us: Numeric = 12) -> Numeric:
    """Time in ms of one ANSI E1.11 packet. Numbers or arrays that broadcast."""
    time_us = np.asarray(break_us) + mark_us + 44 * (np.asarray(slots, float) + 1)
    time_ms: Numeric = np.maximum(time_us, 1204) / 1000
    return time_ms


@formula(
    expression="n = 126 + slots",
    parameters=(Parameter("slots", "", "control values", None, 1, 512, 0, 512),),
    result_unit="",
    source=_E131,
    validity="one universe; 28 octets of IP and UDP, 18 of the link and 20 of preamble and gap come on top",
)
def e131_packet_octets(slots: Numeric) -> Numeric:
    """Octets of one ANSI E1.31 data packet before UDP. Numbers or arrays that broadcast."""
    return 126 + np.asarray(slots, float)
