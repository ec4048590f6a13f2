"""Retries, hops and relays: from one try to the whole way."""

from typing import Any, Final

import numpy as np

from showplan.physics.catalogue import Numeric, Parameter, Source, formula

_PROBABILITY: Final[dict[str, Any]] = {"low": 0.0, "high": 1.0, "minimum": 0, "maximum": 1}
_LIKELY: Final[dict[str, Any]] = {"low": 0.1, "high": 1.0, "above": 0, "maximum": 1}
_FORWARD: Final = Parameter("forward_delivery", "", "share of data packets that arrive", **_LIKELY)
_REVERSE: Final = Parameter("reverse_delivery", "", "share of acknowledgements that arrive", **_LIKELY)
_RETRIES: Final = Parameter("retries", "", "further tries after the first", None, 0, 7, 0, 100, whole_number=True)
_HOPS: Final = Parameter("hops", "", "links one after the other", None, 1, 10, 1, 1000, whole_number=True)
_RELAYS: Final = Parameter("relay_count", "", "relays", None, 1, 20, 1, 1000, whole_number=True)
_SLOTS: Final = Parameter(
    "backoff_slots", "", "equally likely waiting times, 8 by default", None, 1, 256, 1, 4096, whole_number=True
)
_AIR_TIME_MS: Final = Parameter("air_time_ms", "ms", "air time of the packet", None, 0.1, 100, maximum=1e6, above=0)

_CHAIN: Final = Source("repeated independent tries", standing="derived")
_INDEPENDENT: Final = "tries that succeed independently of each other; a performer standing in the way spoils them all"
_BACKOFF: Final = Source("unslotted channel access of IEEE 802.15.4, one backoff counted out", standing="derived")


@formula(
    expression="ETX = 1 / (d_f d_r)",
    parameters=(_FORWARD, _REVERSE),
    result_unit="",
    source=Source("expected transmission count (ETX)", section="read in a public source file", standing="read"),
    validity="acknowledged links with retries without end; sums up along a route",
)
def expected_transmissions(forward_delivery: Numeric, reverse_delivery: Numeric) -> Numeric:
    """Mean number of tries until data and acknowledgement both arrive; both shares > 0. Arrays broadcast."""
    return 1 / (forward_delivery * reverse_delivery)


@formula(
    expression="metric = round(128 ETX)",
    parameters=(
        Parameter("expected_transmissions", "", "ETX of a link or route", None, 1, 500, minimum=1, maximum=1e6),
    ),
    result_unit="",
    source=Source("RFC 6551, RFC 6719", section="read through a public implementation", standing="read"),
    validity="links above 512 (ETX 4) are refused, a route is changed for a gain of 192 (ETX 1.5)",
)
def link_metric(expected_transmissions: Numeric) -> Numeric:
    """ETX as the whole number that travels in routing messages."""
    metric: Numeric = np.floor(128 * np.asarray(expected_transmissions) + 0.5)
    return metric


@formula(
    expression="P = 1 − (1 − d_f)^(r + 1)",
    parameters=(_FORWARD, _RETRIES),
    result_unit="",
    source=_CHAIN,
    validity=f"acknowledged packets, or unacknowledged ones sent r + 1 times; {_INDEPENDENT}",
)
def delivery_with_retries(forward_delivery: Numeric, retries: Numeric) -> Numeric:
    """Share of packets that reach the next hop; exact, since without data nothing stops the sender."""
    share: Numeric = 1 - (1 - np.asarray(forward_delivery)) ** (np.asarray(retries) + 1)
    return share


@formula(
    expression="P = 1 − (1 − d_f d_r)^(r + 1)",
    parameters=(_FORWARD, _REVERSE, _RETRIES),
    result_unit="",
    source=_CHAIN,
    validity=_INDEPENDENT,
)
def acknowledged_with_retries(forward_delivery: Numeric, reverse_delivery: Numeric, retries: Numeric) -> Numeric:
    """Share of packets whose acknowledgement the sender sees; more than these arrive. Arrays broadcast."""
    share: Numeric = 1 - (1 - np.asarray(forward_delivery) * reverse_delivery) ** (np.asarray(retries) + 1)
    return share


@formula(
    expression="n = (1 − (1 − p)^(r + 1)) / p, p = d_f d_r",
    parameters=(_FORWARD, _REVERSE, _RETRIES),
    result_unit="",
    source=_CHAIN,
    validity=_INDEPENDENT,
)
def mean_attempts(forward_delivery: Numeric, reverse_delivery: Numeric, retries: Numeric) -> Numeric:
    """Mean number of tries of a packet when the sender gives up after some retries; both shares > 0."""
    both = np.asarray(forward_delivery) * reverse_delivery
    attempts: Numeric = (1 - (1 - both) ** (np.asarray(retries) + 1)) / both
    return attempts


@formula(
    expression="n = d_f (1 − (1 − p)^(r + 1)) / p, p = d_f d_r",
    parameters=(_FORWARD, _REVERSE, _RETRIES),
    result_unit="",
    source=_CHAIN,
    validity=f"the receiver must drop what it already has; {_INDEPENDENT}",
)
def mean_copies_received(forward_delivery: Numeric, reverse_delivery: Numeric, retries: Numeric) -> Numeric:
    """Mean number of copies of a packet that arrive, repeats after lost acknowledgements included."""
    return forward_delivery * mean_attempts(forward_delivery, reverse_delivery, retries)


@formula(
    expression="t = t_ok + t_fail Σ_{k=0..r} k q (1 − q)^k / (1 − (1 − q)^(r + 1))",
    parameters=(
        Parameter("attempt_delivery", "", "share of tries that succeed, acknowledgement included", **_LIKELY),
        _RETRIES,
        Parameter("success_time_ms", "ms", "time of a try that succeeds", None, 0.1, 1000, 0, 1e6),
        Parameter("failure_time_ms", "ms", "time of a try that fails", None, 0.1, 1000, 0, 1e6),
    ),
    result_unit="ms",
    source=_CHAIN,
    validity=f"mean over the packets that arrive; {_INDEPENDENT}",
)
def mean_delivery_time_ms(
    attempt_delivery: Numeric, retries: Numeric, success_time_ms: Numeric, failure_time_ms: Numeric
) -> Numeric:
    """Mean time in ms until a packet is delivered, failed tries before included. Arrays broadcast."""
    share, tries = np.asarray(attempt_delivery), np.asarray(retries) + 1.0
    lost = (1 - share) ** tries
    # mean of a geometric distribution cut off after `tries`
    failures = (1 - share) / share - tries * lost / (1 - lost)
    time_ms: Numeric = success_time_ms + failure_time_ms * failures
    return time_ms


@formula(
    expression="P = p^h",
    parameters=(Parameter("hop_delivery", "", "share delivered on each hop, retries included", **_PROBABILITY), _HOPS),
    result_unit="",
    source=_CHAIN,
    validity="like hops that fail independently",
)
def path_delivery(hop_delivery: Numeric, hops: Numeric) -> Numeric:
    """Share of packets that pass all hops of a route. Arrays broadcast."""
    share: Numeric = np.power(np.asarray(hop_delivery, float), hops)
    return share


@formula(
    expression="s = 1 / h",
    parameters=(_HOPS,),
    result_unit="",
    source=Source("one hop at a time on one radio channel", standing="derived"),
    validity="all nodes hear each other; long chains measured at 1/5 to 1/7, two radio channels in turn reach 1/2",
)
def chain_throughput_share(hops: Numeric) -> Numeric:
    """Share of one hop's throughput that a chain of hops on one radio channel passes on."""
    return 1 / hops


@formula(
    expression="P = 1 − (1 − d) (1 − a b)^k",
    parameters=(
        Parameter("direct_delivery", "", "share that arrives without a relay", **_PROBABILITY),
        Parameter("to_relay_delivery", "", "share that reaches a relay", **_PROBABILITY),
        Parameter("from_relay_delivery", "", "share of a relay's copies that arrives", **_PROBABILITY),
        _RELAYS,
    ),
    result_unit="",
    source=Source("like relays that fail independently, each repeats once", standing="derived"),
    validity="copies do not collide with each other: give relays slots or jitter",
)
def relayed_delivery(
    direct_delivery: Numeric, to_relay_delivery: Numeric, from_relay_delivery: Numeric, relay_count: Numeric
) -> Numeric:
    """Share of broadcast packets that arrive directly or through one of several relays. Arrays broadcast."""
    missed_by_one = 1 - np.asarray(to_relay_delivery) * from_relay_delivery
    share: Numeric = 1 - (1 - np.asarray(direct_delivery)) * missed_by_one ** np.asarray(relay_count)
    return share


@formula(
    expression="A = 1 − (2 arccos(x/2) − x √(1 − x²/4)) / π",
    parameters=(Parameter("distance_share", "", "x: distance of both senders over the radius", **_PROBABILITY),),
    result_unit="",
    source=Source("geometry of two discs; mean 0.41 and maximum 0.61 known from broadcast studies", standing="derived"),
    validity="equal circular reach in the open",
)
def rebroadcast_extra_area(distance_share: Numeric) -> Numeric:
    """Share of a disc that a repeat from this distance adds; the second sender stands inside the disc."""
    half = np.asarray(distance_share) / 2
    extra: Numeric = 1 - 2 * (np.arccos(half) - half * np.sqrt(1 - half**2)) / np.pi
    return extra


@formula(
    expression="P = (k / W) Σ_{j=0..W−1} (j / W)^(k − 1)",
    parameters=(_RELAYS, _SLOTS),
    result_unit="",
    source=_BACKOFF,
    validity="relays that start together and hear each other; the first backoff only",
)
def first_sender_alone(relay_count: Numeric, backoff_slots: Numeric) -> Numeric:
    """Probability that the first of several relays to send has drawn its waiting time alone."""
    relays, slots = np.broadcast_arrays(np.asarray(relay_count, float), np.asarray(backoff_slots, float))
    later = np.arange(slots.max(initial=1.0))
    powers = (later / slots[..., None]) ** (relays[..., None] - 1)
    total = np.where(later < slots[..., None], powers, 0.0).sum(axis=-1)
    alone: Numeric = relays / slots * total
    return alone


@formula(
    expression="P = (W − m) (W − m + 1) / W², m = ⌈L / unit⌉",
    parameters=(
        _AIR_TIME_MS,
        Parameter("backoff_unit_ms", "ms", "step of the waiting times", None, 0.1, 2, maximum=1e6, above=0),
        _SLOTS,
    ),
    result_unit="",
    source=_BACKOFF,
    validity="two relays that start together and do not hear each other",
)
def hidden_relays_clear(air_time_ms: Numeric, backoff_unit_ms: Numeric, backoff_slots: Numeric) -> Numeric:
    """Probability that two relays hidden from each other do not overlap, with whole steps of waiting."""
    # the allowance keeps an air time of exactly m units at m in spite of rounding
    apart = np.maximum(np.ceil(np.asarray(air_time_ms) / backoff_unit_ms - 1e-9), 1)
    left = np.maximum(np.asarray(backoff_slots) - apart, 0)
    clear: Numeric = left * (left + 1) / np.asarray(backoff_slots, float) ** 2
    return clear


@formula(
    expression="P = (1 − L / J)², and 0 for J ≤ L",
    parameters=(
        _AIR_TIME_MS,
        Parameter("jitter_ms", "ms", "longest random wait", None, 1, 1000, maximum=1e6, above=0),
    ),
    result_unit="",
    source=Source("two independent uniform waits", standing="derived"),
    validity="two relays that start together and do not hear each other",
)
def jittered_relays_clear(air_time_ms: Numeric, jitter_ms: Numeric) -> Numeric:
    """Probability that two relays hidden from each other do not overlap, with waits up to a jitter."""
    clear: Numeric = np.maximum(1 - np.asarray(air_time_ms) / jitter_ms, 0.0) ** 2
    return clear
