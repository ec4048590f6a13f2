"""The packet simulation against closed forms, counted cases, and figures of other simulators.

Contention figures are from two simulators of their own making, an event heap and a simpy process model, that agree
within their noise: means over 8 runs of 40,000 packets, with 95 % intervals where printed. The rules are those of
IEEE 802.15.4-2006 clause 7.5.1.4 (unslotted CSMA-CA), its constants read in public source files. Two things are rules
of the table's senders, not of the standard: they pause for a gap after a packet that they could not send either
(`star(rests=True)`; what it changes is tested below), and they start at random moments. The latter is the standard's
as well: the backoff periods of one device are not related in time to those of any other (7.5.1.4, from memory).
"""

import math
from dataclasses import replace

import numpy as np
import pytest
from scipy.stats import t as student_t

from showplan.planner.air.packets import Packets
from showplan.planner.air.slots import SlotUse
from showplan.planner.scene_traffic import Traffic
from showplan.planner.simulation import Reception, simulate
from showplan.planner.simulation.packets_of_frame import frames_of_groups
from showplan.planner.simulation.radio import reception_of
from showplan.reference import phys
from tests.process_simulation import Star
from tests.scenes import node
from tests.simulations import LONG_GAP, LOUD_DBM, PHYS, SENSING, TURNAROUND, UNIT, copies, flood, measured, radio, star

ALWAYS = math.inf
SEEDS = range(1, 9)
PACKETS = 40_000  # in each of the runs, as in the figures compared with
TWO_PERMILLE = 0.002
ONE_PERCENT, TWO_PERCENT = 0.01, 0.02


def _exchange_us(phy: str, psdu_octets: int, *, acknowledged: bool) -> float:
    """Mean time of one packet by "Throughput and Delay Analysis of Unslotted IEEE 802.15.4" (Journal of Networks,
    2006), with what its form leaves out: sensing and turnaround before the frame.
    """
    symbol_us, octet, _ = PHYS[phy]
    frame, answer = ((6 + octets) * octet for octets in (psdu_octets, 5))  # six octets of synchronising and PHY header
    before = 3.5 * UNIT + SENSING + TURNAROUND
    return symbol_us * (before + frame + acknowledged * (TURNAROUND + answer) + LONG_GAP)


@pytest.mark.parametrize(
    ("phy", "acknowledged", "published_per_s"),
    [
        ("oqpsk-2450", False, 157.83),
        ("oqpsk-2450", True, 145.35),
        ("oqpsk-868", False, 157.83 * 0.4),
        ("oqpsk-868", True, 145.35 * 0.4),
        ("bpsk-868", False, None),
        ("bpsk-868", True, None),
    ],
)
def test_one_sender_that_is_always_busy(phy, acknowledged, published_per_s):
    """The full form: 157.83 and 145.35 packets of 127 octets a second at 2450 MHz; all in symbols elsewhere."""
    closed_per_s = 1e6 / _exchange_us(phy, 127, acknowledged=acknowledged)
    if published_per_s is not None:
        assert closed_per_s == pytest.approx(published_per_s, abs=0.006)
    given = star(1, 127, ALWAYS, acknowledged=acknowledged, duration_s=40_000 / closed_per_s, **radio(phy))
    found = simulate(given, 2)
    assert found.packets_per_s[1] == pytest.approx(closed_per_s, rel=TWO_PERMILLE)
    assert found.losses.sum() == 0


# N, PSDU octets, packets a second (infinite: always busy), acknowledged; value and interval.
CONTENTION = [
    (5, 40, 10, True, {"alpha": (0.1099, 0.0014), "collision": (0.0242, 0.0004), "reliability": (0.9997, 0.0001)}),
    (10, 40, 10, True, {"alpha": (0.2420, 0.0017), "collision": (0.0637, 0.0014), "reliability": (0.9970, 0.0003)}),
    (10, 40, 10, False, {"alpha": (0.1540, 0.0017), "collision": (0.0378, 0.0011), "reliability": (0.9619, 0.0010)}),
    (20, 40, 10, False, {"alpha": (0.3053, 0.0011), "collision": (0.0943, 0.0008), "reliability": (0.9020, 0.0008)}),
    (10, 127, 2, True, {"alpha": (0.1411, 0.0011), "collision": (0.0125, 0.0008), "reliability": (0.9987, 0.0001)}),
    (5, 127, 10, False, {"alpha": (0.2194, 0.0010), "collision": (0.0185, 0.0008), "reliability": (0.9793, 0.0008)}),
    (3, 127, ALWAYS, True, {"alpha": (0.7051, 0.0003), "collision": (0.2432, 0.0010), "reliability": (0.7417, 0.0005)}),
    (10, 40, ALWAYS, True, {"alpha": (0.7684, 0.0003), "collision": (0.6047, 0.0012), "reliability": (0.4488, 0.0012)}),
]
# The same cases' figures without an interval: busy share, no access, no acknowledgement, delay in ms, sent a packet.
WITHOUT_INTERVAL = [
    (0.0886, 0.0001, 0.0002, 3.963, 1.029),
    (0.1799, 0.0022, 0.0008, 4.867, 1.076),
    (0.1387, 0.0003, 0.0, 3.482, 1.000),
    (0.2673, 0.0041, 0.0, 4.329, 0.996),
    (0.0915, 0.0012, 0.0001, 6.916, 1.014),
    (0.1960, 0.0023, 0.0, 6.655, 0.998),
    (0.7512, 0.2552, 0.0032, 13.556, 1.015),
    (0.6976, 0.4930, 0.0582, 16.104, 1.352),
]
PRINTED = 0.00006  # half of the last place of figures printed to four


@pytest.mark.parametrize(("case", "others"), list(zip(CONTENTION, WITHOUT_INTERVAL, strict=True)))
def test_contention_as_tabulated(case, others):
    """Within both intervals; what is printed without one, within ours and two per cent of itself."""
    senders, octets, per_s, acknowledged, expected = case
    duration_s = PACKETS / senders / per_s if per_s < ALWAYS else 120.0
    found = measured(star(senders, octets, per_s, acknowledged=acknowledged, duration_s=duration_s), senders, SEEDS)
    for name, (value, half) in expected.items():
        assert found[name][0] == pytest.approx(value, abs=half + found[name][1] + PRINTED), name
    for name, value in zip(("busy", "no access", "no ack", "delay ms", "sent"), others, strict=True):
        assert found[name][0] == pytest.approx(value, abs=TWO_PERCENT * value + found[name][1] + PRINTED), name


@pytest.mark.parametrize(
    ("senders", "octets", "alpha", "reliability"), [(3, 127, 0.7051, 0.7417), (10, 40, 0.7684, 0.4488)]
)
def test_busy_senders_without_the_pause(senders, octets, alpha, reliability):
    """The standard asks for a gap between frames sent (7.5.1.3), so none follows a packet that found no access.

    Senders that are always busy then find it busy a little more often than the tabulated ones: 0.0042 and 0.0032 more,
    reliability 0.0041 and 0.0056 less. Senders with pauses of their own do not differ.
    """
    given = star(senders, octets, ALWAYS, acknowledged=True, rests=False, duration_s=120.0)
    found = measured(given, senders, SEEDS[:4])
    assert found["alpha"][0] - alpha == pytest.approx(0.0037, abs=0.0015 + found["alpha"][1])
    assert found["reliability"][0] - reliability == pytest.approx(-0.0049, abs=0.0015 + found["reliability"][1])


# Good packets a second of all nodes together, always busy. Printed without intervals; we are at most 1.3 % away.
SATURATED = {
    (127, True): {2: 140.0, 3: 135.2, 5: 124.0, 10: 96.0, 20: 54.9},
    (40, True): {2: 244.8, 5: 243.0, 10: 197.1, 20: 114.4},
    (40, False): {2: 301.0, 5: 320.3, 10: 279.5, 20: 183.0},
    (127, False): {2: 156.3, 5: 149.3, 10: 128.0, 20: 83.6},
}


@pytest.mark.parametrize(
    ("octets", "acknowledged", "senders", "per_s"),
    [(*kind, senders, per_s) for kind, row in SATURATED.items() for senders, per_s in row.items()],
)
def test_senders_that_are_always_busy(octets, acknowledged, senders, per_s):
    found = measured(star(senders, octets, ALWAYS, acknowledged=acknowledged, duration_s=60.0), senders, SEEDS[:4])
    value, half = found["good per s"]
    assert value == pytest.approx(per_s, abs=half + ONE_PERCENT * per_s)


def test_868_mhz_bpsk():
    """Eight symbols to an octet: frames are long against the backoff. Printed without intervals."""
    found = measured(star(5, 40, 0.5, acknowledged=True, duration_s=32_000.0, **radio("bpsk-868")), 5, SEEDS[:4])
    assert found["alpha"][0] == pytest.approx(0.0892, abs=0.002)
    assert found["collision"][0] == pytest.approx(0.0038, abs=0.0007)
    assert found["reliability"][0] == pytest.approx(0.9994, abs=0.0003)
    assert found["delay ms"][0] == pytest.approx(29.17, rel=ONE_PERCENT)
    # A longer run gives 0.00617 +- 0.00013 collisions, a tenth fewer than printed.
    unanswered = measured(star(10, 40, 0.5, acknowledged=False, duration_s=8000.0, **radio("bpsk-868")), 10, SEEDS[:4])
    assert unanswered["alpha"][0] == pytest.approx(0.1311, abs=unanswered["alpha"][1])
    assert unanswered["collision"][0] == pytest.approx(0.0068, abs=0.0007 + PRINTED + unanswered["collision"][1])
    assert unanswered["reliability"][0] == pytest.approx(0.9922, abs=0.0007 + PRINTED + unanswered["reliability"][1])
    busy = measured(star(3, 40, ALWAYS, acknowledged=True, duration_s=600.0, **radio("bpsk-868")), 3, SEEDS[:4])
    assert busy["reliability"][0] == pytest.approx(0.6134, abs=busy["reliability"][1] + PRINTED)


def test_everything_counts_in_symbols():
    """868 MHz O-QPSK at 0.4 times the packets: the same shares as 2450 MHz, and times 2.5 times as long."""
    fast = measured(star(10, 40, 10, acknowledged=True, duration_s=200.0), 10, SEEDS[:2])
    slow = measured(star(10, 40, 4, acknowledged=True, duration_s=500.0, **radio("oqpsk-868")), 10, SEEDS[:2])
    for name in ("alpha", "collision", "reliability"):
        assert slow[name][0] == pytest.approx(fast[name][0], rel=ONE_PERCENT), name
    assert slow["delay ms"][0] == pytest.approx(2.5 * fast["delay ms"][0], rel=ONE_PERCENT)


@pytest.mark.parametrize(
    ("changes", "reliability", "delay_ms"),
    [
        ({}, 0.945, 10.2),
        ({"min_be": 5}, 0.965, 14.8),
        ({"min_be": 5, "max_be": 8}, 0.988, 21.9),
        ({"max_backoffs": 5}, 0.965, None),
        ({"min_be": 2}, 0.922, None),
        ({"retries": 0}, 0.891, None),
    ],
)
def test_what_the_constants_do(changes, reliability, delay_ms):
    """Ten senders, 127 octets, 10 packets a second each, acknowledged; printed to three places."""
    given = star(10, 127, 10, acknowledged=True, duration_s=400.0, **radio("oqpsk-2450", **changes))
    found = measured(given, 10, SEEDS[:4])
    assert found["reliability"][0] == pytest.approx(reliability, abs=0.0006 + 0.002)
    if delay_ms is not None:
        assert found["delay ms"][0] == pytest.approx(delay_ms, abs=0.06 + 0.1)


@pytest.mark.parametrize(
    ("octets", "per_s", "closed", "simulated"),
    [(40, 2, 0.0058, 0.0054), (40, 10, 0.0280, 0.0282), (127, 10, 0.0769, 0.0794)],
)
def test_two_senders_that_do_not_hear_each_other(octets, per_s, closed, simulated):
    """1 - exp(-2 L / cycle), and another simulator's figure."""
    found = measured(star(2, octets, per_s, acknowledged=False, hidden=True, duration_s=50_000 / per_s), 2, SEEDS[:4])
    value, half = found["collision"]
    assert value == pytest.approx(closed, rel=0.05)
    assert value == pytest.approx(simulated, abs=half + 0.0005)


# A target that hears only two relays, which do not hear each other and start together: the copies must not overlap.
@pytest.mark.parametrize(("octets", "delivery"), [(20, 0.46875), (40, 0.1875), (60, 0.03125), (127, 0.0)])
def test_hidden_relays_with_backoff_alone(octets, delivery):
    """Pairs of backoffs with 20 |i - j| symbols at least a frame's length, of 64."""
    found = simulate(flood(2, octets, hidden=True))
    assert found.delivery.value[3] == pytest.approx(delivery, abs=_four_sigma(delivery, 20_000))


@pytest.mark.parametrize(
    ("octets", "jitter_ms", "delivery"),
    [(40, 10, 0.7273), (40, 20, 0.8582), (40, 50, 0.9420), (127, 10, 0.3299), (127, 20, 0.6197), (127, 50, 0.8370)],
)
def test_hidden_relays_with_jitter(octets, jitter_ms, delivery):
    """(1 - L / J)^2, the backoff left out."""
    given = flood(2, octets, hidden=True, jitter_us=jitter_ms * 1000, **radio("oqpsk-2450", min_be=0))
    found = simulate(given)
    assert found.delivery.value[3] == pytest.approx(delivery, abs=_four_sigma(delivery, 20_000) + PRINTED)


FIRST_ALONE = {
    3: {2: 0.875, 3: 0.8203125, 5: 0.7135, 10: 0.4905},  # exponent 3: eight backoffs to draw from
    5: {2: 0.96875, 3: 0.9536, 5: 0.9235, 10: 0.85107},
}


@pytest.mark.parametrize(("exponent", "relays"), [(be, k) for be, row in FIRST_ALONE.items() for k in row])
def test_the_first_relay_is_alone(exponent, relays):
    """k relays hear each other and start together: k sum_v (1/W) ((W - 1 - v)/W)^(k - 1)."""
    expected = FIRST_ALONE[exponent][relays]
    found = simulate(flood(relays, 40, **radio("oqpsk-2450", min_be=exponent)))
    alone = [part["heard_by"][0] > 0 for part in copies(found, relays)]
    assert np.mean(alone) == pytest.approx(expected, abs=_four_sigma(expected, 20_000))


def test_the_later_of_two_relays_gives_up():
    """127 octets, both start together: 0.00135 find the channel busy five times (counted out as a tree)."""
    found = simulate(flood(2, 127, floods=40_000, trace_length=0))
    given_up = found.no_access[1:3].sum() / found.packets[0]
    assert given_up == pytest.approx(0.00135, abs=_four_sigma(0.00135, 40_000))


@pytest.mark.parametrize(
    ("octets", "relays", "clean", "last_ms"),
    [
        *((40, 3, 0.823, 9.2), (40, 5, 0.719, 13.8), (40, 10, 0.520, 20.3)),
        *((127, 3, 0.827, 17.1), (127, 5, 0.661, 23.0), (127, 10, 0.376, 27.9)),
    ],
)
def test_copies_that_go_out_clean(octets, relays, clean, last_ms):
    """Another simulator's share of the relays' copies, and when the last one ends."""
    found = simulate(flood(relays, octets))
    parts = copies(found, relays)
    sent = sum((part["heard_by"] > 0).sum() for part in parts)
    assert sent / relays / len(parts) == pytest.approx(clean, abs=0.01)
    # All frames are of one length: from the end of the gateway's to the end of the last is from start to start.
    heard_ns = found.trace["start_ns"][found.trace["node"] == 0]
    last_ns = np.array([part["start_ns"].max() for part in parts])
    assert np.mean(last_ns - heard_ns) / 1e6 == pytest.approx(last_ms, abs=0.06 + 0.05)


@pytest.mark.parametrize(
    ("sinr_db", "loss", "bound"), [(0, 0.02552, PRINTED), (1, 0.002064, 0.0000006), (0.403, 0.01, 0.0002)]
)
def test_loss_in_noise(sinr_db, loss, bound):
    """PER = 1 - (1 - BER)^160 for 20 octets at 2450 MHz; BER by IEEE 802.15.4-2006 annex E, read in public sources."""
    given = star(1, 20, ALWAYS, acknowledged=False, duration_s=1000.0, noise_dbm=LOUD_DBM - sinr_db)
    found = simulate(replace(given, reception=Reception(rule="error-rate", hold_below_db=20)))
    offered = found.offered[1]
    assert 1 - found.delivery.value[1] == pytest.approx(loss, abs=bound + 4 * math.sqrt(loss / offered))
    assert found.losses[1].tolist() == [0, 0, offered - found.delivered[1], 0, 0]


@pytest.mark.parametrize("ebn0_db", [11.0, 12.0, None])
def test_loss_of_frequency_shift_keying(ebn0_db):
    """BER = 1/2 exp(-Eb / (2 N0)): two orthogonal tones, envelope detector (textbook form, from memory; the published
    form of J. Proakis, Digital Communications). None: at the SINR that makes the sensitivity, 1 % of 20 octets is lost.
    """
    reception = replace(reception_of(phys()["sun-fsk-863"]), hold_below_db=20)
    sinr_db = reception.threshold_db if ebn0_db is None else ebn0_db - reception.spread_db
    loss = 0.01 if ebn0_db is None else 1 - (1 - 0.5 * math.exp(-(10 ** (ebn0_db / 10)) / 2)) ** 160
    given = star(1, 20, ALWAYS, acknowledged=False, duration_s=500.0, noise_dbm=LOUD_DBM - sinr_db, reception=reception)
    found = simulate(given)
    assert 1 - found.delivery.value[1] == pytest.approx(loss, abs=_four_sigma(loss, int(found.offered[1])))


def test_loss_by_rayleigh_fading():
    """Exponentially distributed power: a frame falls short of a threshold t with 1 - exp(-t / mean), textbook form."""
    given = star(1, 20, ALWAYS, acknowledged=False, duration_s=500.0, noise_dbm=LOUD_DBM - 10, fades=[True, False])
    found = simulate(replace(given, reception=Reception(rule="threshold", threshold_db=3)))
    loss = 1 - math.exp(-(10 ** (-7 / 10)))
    assert 1 - found.delivery.value[1] == pytest.approx(loss, abs=_four_sigma(loss, int(found.offered[1])))


@pytest.mark.parametrize(
    ("senders", "octets", "per_s", "changes", "duration_s"),
    [
        (5, 40, 10, {"hidden": False}, 150.0),
        (10, 40, ALWAYS, {"hidden": False}, 15.0),
        (10, 40, ALWAYS, {"hidden": False, "rests": False}, 15.0),
        (2, 40, ALWAYS, {"hidden": True}, 20.0),
    ],
)
def test_as_processes_written_apart(senders, octets, per_s, changes, duration_s):
    """A simpy model of the same rules, `tests.process_simulation`: within the intervals of both."""
    given = star(senders, octets, per_s, acknowledged=True, duration_s=duration_s, **changes)
    found = measured(given, senders, SEEDS)
    runs = [
        Star(senders, octets, per_s, acknowledged=True, seed=seed, warm_up_s=1.0, **changes).run(duration_s)
        for seed in SEEDS
    ]
    theirs = {
        "alpha": [run.sensed_busy / run.sensed for run in runs],
        "collision": [run.failed / run.sent for run in runs],
        "reliability": [1 - (run.no_access + run.no_ack) / run.packets for run in runs],
        "sent": [run.sent / run.packets for run in runs],
    }
    for name, values in theirs.items():
        half = student_t.ppf(0.975, len(values) - 1) * np.std(values, ddof=1) / math.sqrt(len(values))
        assert found[name][0] == pytest.approx(np.mean(values), abs=found[name][1] + half), name


def test_packets_of_a_frame_by_addressing():
    """40 nodes of 12 octets, headers 9 + 2 + 4: 5, 8, 8 and 40 packets, 18.720, 20.736 and 42.240 ms on the air."""
    nodes = [node(f"N{i}", "receiver", i, 1.0, 1.0) for i in range(40)]
    slots = {one.label: frozenset((one.label, slot) for slot in range(12)) for one in nodes}
    cases = [("all", 1, 5, 18.720), ("groups", 4, 8, 20.736), ("groups", 8, 8, 20.736), ("each", 1, 40, 42.240)]
    for addressing, groups, count, air_ms in cases:
        traffic = Traffic(network="Show", addressing=addressing, groups=groups)
        frames = frames_of_groups(nodes, SlotUse(slots, False, ()), Packets(phys()["oqpsk-2450"], traffic))
        packets = [one for frame in frames for one in frame.complete]
        assert len(packets) == count
        assert sum(6 + packet.psdu_octets for packet in packets) * 0.032 == pytest.approx(air_ms)


def _four_sigma(share: float, count: int) -> float:
    """Binomial."""
    return 4 * math.sqrt(share * (1 - share) / count)
