"""Unslotted channel access of IEEE 802.15.4: waiting, one exchange, and what one sender gets through."""

from typing import Any, Final

import numpy as np

from showplan.physics.catalogue import Numeric, Parameter, Source, formula

_TIME: Final[dict[str, Any]] = {"low": 0.0, "high": 1000.0, "minimum": 0, "maximum": 1e6}
_MICRO: Final[dict[str, Any]] = {"low": 1.0, "high": 5000.0, "minimum": 0, "maximum": 1e7}
_MIN_BE: Final = Parameter("min_be", "", "first backoff exponent", 3, 0, 8, 0, 20, whole_number=True)
_MAX_BE: Final = Parameter("max_be", "", "largest backoff exponent", 5, 3, 8, 0, 20, whole_number=True)
_MAX_BACKOFFS: Final = Parameter(
    "max_backoffs", "", "further looks at a busy channel", 4, 0, 5, 0, 100, whole_number=True
)
_UNIT_US: Final = Parameter("backoff_unit_us", "µs", "step of the waiting times", 320, **_MICRO)
_SENSING_US: Final = Parameter("sensing_us", "µs", "time of one look at the channel", 128, **_MICRO)
_TURNAROUND_US: Final = Parameter("turnaround_us", "µs", "time to turn from hearing to sending", 192, **_MICRO)
_AIR_MS: Final = Parameter("air_time_ms", "ms", "air time of the packet", None, **_TIME)
_ACCESS_MS: Final = Parameter("access_ms", "ms", "waiting until the packet starts", None, **_TIME)

_STANDARD: Final = Source(
    "IEEE 802.15.4-2006, clause 7.5.1.4", section="constants read in public source files", standing="read"
)
_CLOSED_FORM: Final = Source(
    "Throughput and Delay Analysis of Unslotted IEEE 802.15.4, Journal of Networks, 2006",
    section="title page and abstract read, its form derived anew",
    standing="derived",
)


@formula(
    expression="t = (2^BE − 1) / 2 · u",
    parameters=(_MIN_BE, _UNIT_US),
    result_unit="ms",
    source=_STANDARD,
    validity="first backoff; later ones are longer",
)
def mean_backoff_ms(min_be: Numeric = 3, backoff_unit_us: Numeric = 320) -> Numeric:
    """Mean random wait before the first look at the channel, in ms. Numbers or arrays that broadcast."""
    wait_ms: Numeric = (2.0 ** np.asarray(min_be) - 1) / 2 * np.asarray(backoff_unit_us) / 1000
    return wait_ms


@formula(
    expression="t = (2^BE − 1) / 2 · u + c + a",
    parameters=(_MIN_BE, _UNIT_US, _SENSING_US, _TURNAROUND_US),
    result_unit="ms",
    source=_STANDARD,
    validity="idle channel: the first look finds it free",
)
def mean_access_ms(
    min_be: Numeric = 3, backoff_unit_us: Numeric = 320, sensing_us: Numeric = 128, turnaround_us: Numeric = 192
) -> Numeric:
    """Mean time in ms from wanting to send until the packet starts: backoff, one look, turnaround."""
    return mean_backoff_ms(min_be, backoff_unit_us) + (np.asarray(sensing_us) + turnaround_us) / 1000


@formula(
    expression="t = Σ_{i=0..m} ((2^min(BE + i, BE_max) − 1) u + c)",
    parameters=(_MIN_BE, _MAX_BE, _MAX_BACKOFFS, _UNIT_US, _SENSING_US),
    result_unit="ms",
    source=_STANDARD,
    validity="every wait the longest, every look but the last busy; after it the packet is dropped or sent",
)
def longest_access_ms(
    min_be: Numeric = 3,
    max_be: Numeric = 5,
    max_backoffs: Numeric = 4,
    backoff_unit_us: Numeric = 320,
    sensing_us: Numeric = 128,
) -> Numeric:
    """Longest time in ms that one access to the channel can take. Numbers or arrays that broadcast."""
    looks = np.asarray(max_backoffs, float) + 1
    stages = np.arange(looks.max(initial=1.0))
    exponents = np.minimum(np.asarray(min_be)[..., None] + stages, np.asarray(max_be)[..., None])
    units = np.where(stages < looks[..., None], 2.0**exponents - 1, 0.0).sum(axis=-1)
    time_ms: Numeric = (units * backoff_unit_us + looks * sensing_us) / 1000
    return time_ms


@formula(
    expression="t = t_access + t_air + t_ack + t_gap",
    parameters=(
        _ACCESS_MS,
        _AIR_MS,
        Parameter("gap_ms", "ms", "pause that must follow the frame", None, **_TIME),
        Parameter("acknowledgement_ms", "ms", "turnaround and air time of the acknowledgement", 0, **_TIME),
    ),
    result_unit="ms",
    source=_CLOSED_FORM,
    validity="one sender; the published form counts the mean backoff alone as access, radios look and turn besides",
)
def exchange_time_ms(
    access_ms: Numeric, air_time_ms: Numeric, gap_ms: Numeric, acknowledgement_ms: Numeric = 0
) -> Numeric:
    """Time in ms that one packet takes from its sender, waiting included. Numbers or arrays that broadcast."""
    return access_ms + air_time_ms + acknowledgement_ms + gap_ms


@formula(
    expression="t = t_access + t_air + t_wait",
    parameters=(_ACCESS_MS, _AIR_MS, Parameter("ack_wait_ms", "ms", "how long an acknowledgement is awaited", **_TIME)),
    result_unit="ms",
    source=_STANDARD,
    validity="a try that gets no acknowledgement waits the whole time, not a turnaround and an acknowledgement",
)
def failed_exchange_time_ms(access_ms: Numeric, air_time_ms: Numeric, ack_wait_ms: Numeric) -> Numeric:
    """Time in ms of one try that fails, waiting included. Numbers or arrays that broadcast."""
    return access_ms + air_time_ms + ack_wait_ms


@formula(
    expression="R = 8 x / t",
    parameters=(
        Parameter("payload_octets", "", "octets of payload in each packet", None, 1, 2047, 0, 1e6),
        Parameter("exchange_ms", "ms", "time of one exchange", None, 0.1, 1000, maximum=1e6, above=0),
    ),
    result_unit="kbit/s",
    source=_CLOSED_FORM,
    validity="one sender that always has a packet waiting",
)
def throughput_kbps(payload_octets: Numeric, exchange_ms: Numeric) -> Numeric:
    """Payload that one sender gets through, in kbit/s. Numbers or arrays that broadcast."""
    return 8 * np.asarray(payload_octets) / exchange_ms


@formula(
    expression="t = (r + 1) (t_access + a + t_air + t_wait)",
    parameters=(
        Parameter("retries", "", "further tries after the first", None, 0, 7, 0, 100, whole_number=True),
        Parameter("access_ms", "ms", "longest access of one try", None, **_TIME),
        Parameter("turnaround_us", "µs", "time to turn from hearing to sending", None, **_MICRO),
        _AIR_MS,
        Parameter("ack_wait_ms", "ms", "how long an acknowledgement is awaited", None, **_TIME),
    ),
    result_unit="ms",
    source=_STANDARD,
    validity="every try waits the longest and fails",
)
def longest_unicast_ms(
    retries: Numeric,
    access_ms: Numeric,
    turnaround_us: Numeric,
    air_time_ms: Numeric,
    ack_wait_ms: Numeric,
) -> Numeric:
    """Longest time in ms until a sender gives an acknowledged packet up. Numbers or arrays that broadcast."""
    one_ms = access_ms + np.asarray(turnaround_us) / 1000 + air_time_ms + ack_wait_ms
    time_ms: Numeric = (np.asarray(retries) + 1) * one_ms
    return time_ms
