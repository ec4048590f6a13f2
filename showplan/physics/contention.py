"""Several senders on one radio channel: how often each finds it busy, collides, and gets through."""

import math
from dataclasses import dataclass
from typing import Any, Final

import numpy as np

from showplan.physics.catalogue import FormulaFunction, Numeric, Parameter, Source, formula

_MODEL: Final = Source(
    "generalised Markov-chain model of the unslotted IEEE 802.15.4 MAC, 2009",
    section="structure read in a public implementation, eq. 16-20; continuous-time form derived",
    standing="derived",
)
_VALID: Final = (
    "senders that all hear each other, random traffic, no capture. Optimistic: against simulation the share delivered"
    " is up to 0.0014 too high below 10 % utilisation, 0.007 to 20 %, 0.044 to 45 %; not to be used above"
)
# (utilisation up to, largest error of the share delivered against simulation): 60 cases, acknowledged or not.
STATED_ERRORS: Final = ((0.05, 0.0007), (0.10, 0.0014), (0.20, 0.0071), (0.45, 0.044))
GOOD_UTILISATION: Final = 0.20  # above, the estimate is rough
VALID_UTILISATION: Final = STATED_ERRORS[-1][0]
LEAST_RATE_PER_S: Final = 1e-9  # stands for never, so that no time is infinite
_DAMPING: Final = 0.4
_SETTLED: Final = 1e-10
_MOST_ROUNDS: Final = 400

_TIME: Final[dict[str, Any]] = {"low": 0.0, "high": 1000.0, "minimum": 0, "maximum": 1e6}
_MICRO: Final[dict[str, Any]] = {"low": 1.0, "high": 5000.0, "maximum": 1e7, "above": 0}
_PARAMETERS: Final = (
    Parameter("contenders", "", "senders on the radio channel", None, 1, 20, 1, 10_000),
    Parameter("packets_per_s", "1/s", "packets of each sender", None, 0, 100, 0, 1e5),
    Parameter("air_time_ms", "ms", "air time of a packet", None, 0.1, 1000, maximum=1e6, above=0),
    Parameter("acknowledgement_ms", "ms", "air time of an acknowledgement, 0 without", 0, **_TIME),
    Parameter("retries", "", "further tries after the first", 0, 0, 7, 0, 100, whole_number=True),
    Parameter("turnaround_us", "µs", "time to turn from hearing to sending", 192, **_MICRO),
    Parameter("sensing_us", "µs", "time of one look at the channel", 128, **_MICRO),
)


@dataclass(frozen=True)
class Access:
    """The constants of unslotted CSMA-CA and of the PHY that `contention_of` needs; waiting steps are one unit long."""

    turnaround_us: float = 192.0
    sensing_us: float = 128.0
    backoff_unit_us: float = 320.0
    min_be: int = 3
    max_be: int = 5
    max_backoffs: int = 4


@dataclass(frozen=True)
class Contention:
    """What each of several like senders meets.

    `utilisation`: share of the time that they send together, collisions counted twice. `busy_share`: of looks that
    find the channel busy; `collision_share`: of packets sent that collide; `access_failure`: of tries that never get
    the channel; `delivered`: of packets that arrive, retries included. `access_ms` is the mean wait of a try.
    """

    utilisation: float
    busy_share: float
    collision_share: float
    access_failure: float
    delivered: float
    access_ms: float

    @property
    def is_valid(self) -> bool:
        """Whether the estimate may be used: it is far too optimistic on a fuller channel."""
        return self.utilisation <= VALID_UTILISATION

    @property
    def is_rough(self) -> bool:
        """Whether the estimate may be used but is some per cent too optimistic."""
        return GOOD_UTILISATION < self.utilisation <= VALID_UTILISATION

    @property
    def stated_error(self) -> float:
        """By how much `delivered` may be too high, against simulation; 1 where the estimate may not be used."""
        return next((error for limit, error in STATED_ERRORS if self.utilisation <= limit), 1.0)

    @classmethod
    def of(
        cls,
        contenders: float,
        packets_per_s: float,
        air_time_ms: float,
        acknowledgement_ms: float = 0.0,
        retries: float = 0.0,
        access: Access | None = None,
    ) -> "Contention":
        """Solve the fixed point by damped substitution; times in ms, `packets_per_s` of each sender."""
        return _solve(_Load(contenders, packets_per_s, air_time_ms, acknowledgement_ms, retries), access or Access())


@dataclass(frozen=True)
class _Load:
    contenders: float
    packets_per_s: float
    air_ms: float
    ack_ms: float
    retries: float


def _solve(load: _Load, access: Access) -> Contention:
    turn, look, unit = (t / 1000 for t in (access.turnaround_us, access.sensing_us, access.backoff_unit_us))
    waits = [
        (2 ** min(access.min_be + i, max(access.min_be, access.max_be)) - 1) / 2 * unit
        for i in range(access.max_backoffs + 1)
    ]
    think_ms = 1000 / max(load.packets_per_s, LEAST_RATE_PER_S)
    busy = collided = wait_ms = sending_ms = cycle_ms = lost = tries = 0.0
    for _ in range(_MOST_ROUNDS):
        wait_ms = sum(busy**i * (wait + look) for i, wait in enumerate(waits))
        gets_it = 1 - busy ** len(waits)
        lost = collided * gets_it
        tries = sum(lost**i for i in range(int(load.retries) + 1))
        after_ms = (turn + load.ack_ms) if load.ack_ms else 0.0
        sending_ms = gets_it * (load.air_ms + (1 - collided) * load.ack_ms)
        cycle_ms = think_ms + tries * (wait_ms + gets_it * (turn + load.air_ms + after_ms))
        looks = tries * sum(busy**i for i in range(len(waits)))
        others_per_ms = (load.contenders - 1) * looks / cycle_ms
        blocked_ms = load.air_ms + look + turn / 2 * collided
        if load.ack_ms:
            blocked_ms += (1 - collided) * (load.ack_ms + look)
        busy_now = blocked_ms * others_per_ms / (1 + (blocked_ms + turn) * others_per_ms)
        collided_now = -math.expm1(-2 * turn * others_per_ms)
        change = max(abs(busy_now - busy), abs(collided_now - collided))
        busy += _DAMPING * (busy_now - busy)
        collided += _DAMPING * (collided_now - collided)
        if change < _SETTLED:
            break
    failure = busy ** len(waits)
    delivered = 1 - failure * tries - lost ** (int(load.retries) + 1)
    used = load.contenders * tries * sending_ms / cycle_ms
    return Contention(used, busy, collided, failure, min(max(delivered, 0.0), 1.0), wait_ms + turn)


def _contended(name: str, result: str, expression: str, meaning: str) -> FormulaFunction:
    """One figure of the fixed point as a formula of its own."""

    def one(*numbers: float) -> float:
        n, rate, air_ms, ack_ms, retries, turn, look = map(float, numbers)
        access = Access(turn, look, turn + look)
        return float(getattr(Contention.of(n, rate, air_ms, ack_ms, retries, access), result))

    each = np.vectorize(one, otypes=[float])

    def found(
        contenders: Numeric,
        packets_per_s: Numeric,
        air_time_ms: Numeric,
        acknowledgement_ms: Numeric = 0,
        retries: Numeric = 0,
        turnaround_us: Numeric = 192,
        sensing_us: Numeric = 128,
    ) -> Numeric:
        values = (contenders, packets_per_s, air_time_ms, acknowledgement_ms, retries, turnaround_us, sensing_us)
        figure: Numeric = each(*values)[()]
        return figure

    found.__name__ = found.__qualname__ = name
    found.__doc__ = f"{meaning}. Numbers or arrays that broadcast."
    register = formula(expression=expression, parameters=_PARAMETERS, result_unit="", source=_MODEL, validity=_VALID)
    return register(found)


contended_busy_share: Final = _contended(
    "contended_busy_share",
    "busy_share",
    "α = D / (D + a + 1/Λ), fixed point with the collision share",
    "Share of looks at the channel that find it busy",
)
contended_collision_share: Final = _contended(
    "contended_collision_share",
    "collision_share",
    "P = 1 − e^(−2 a Λ), Λ: looks of the others per time",
    "Share of packets sent that another sender's packet spoils",
)
contended_delivery: Final = _contended(
    "contended_delivery",
    "delivered",
    "R = 1 − x^(m+1) (1 − y^(n+1)) / (1 − y) − y^(n+1), y = P (1 − x^(m+1))",
    "Share of packets that get the channel and do not collide, retries included",
)


@formula(
    expression="P = 1 − e^(−2 L n)",
    parameters=(
        Parameter("air_time_ms", "ms", "air time of a packet", None, 0.1, 1000, 0, 1e6),
        Parameter("packets_per_s", "1/s", "packets of the sender that is not heard", None, 0, 100, 0, 1e5),
    ),
    result_unit="",
    source=Source("two senders that do not wait for each other, random traffic", standing="derived"),
    validity="two senders that cannot hear each other; a receiver that hears both alike",
)
def hidden_collision_share(air_time_ms: Numeric, packets_per_s: Numeric) -> Numeric:
    """Share of packets that a sender out of earshot spoils. Numbers or arrays that broadcast."""
    share: Numeric = -np.expm1(-2 * np.asarray(air_time_ms) * packets_per_s / 1000)
    return share
