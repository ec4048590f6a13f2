"""Retries, hops and relays: computed figures, checked by simulation where said; figures of public sources."""

import math

import numpy as np
import pytest
from scipy.integrate import quad

from showplan.physics.air_time import frame_air_time_ms
from showplan.physics.retries import (
    acknowledged_with_retries,
    chain_throughput_share,
    delivery_with_retries,
    expected_transmissions,
    first_sender_alone,
    hidden_relays_clear,
    jittered_relays_clear,
    link_metric,
    mean_attempts,
    mean_copies_received,
    mean_delivery_time_ms,
    path_delivery,
    rebroadcast_extra_area,
    relayed_delivery,
)

FOURTH_PLACE = 0.00006  # for figures printed to four places
SIXTH_PLACE = 0.0000006  # for figures printed to six places
ACCESS_MS, TURNAROUND_MS, ACK_MS, ACK_WAIT_MS = 1.44, 0.192, 0.352, 0.864  # IEEE 802.15.4, 2450 MHz, public source


def test_expected_transmissions():
    # ETX, read in a public source file
    assert expected_transmissions(0.9, 0.8) == pytest.approx(1.3889, abs=FOURTH_PLACE)
    assert expected_transmissions(0.5, 1.0) == 2
    # published example: 1,898 transmissions for 1,024 packets
    assert pytest.approx(1.8535, abs=FOURTH_PLACE) == 1898 / 1024
    assert expected_transmissions(0.5395, 1.0) == pytest.approx(1.8535, abs=3 * FOURTH_PLACE)


@pytest.mark.parametrize(("delivery", "metric"), [(0.8, 200), (0.9, 158)])
def test_link_metric(delivery, metric):
    # RFC 6551: ETX times 128
    assert link_metric(expected_transmissions(delivery, delivery)) == metric


@pytest.mark.parametrize(("delivery", "retries", "reached"), [(0.9, 3, 0.9999), (0.7, 3, 0.9919)])
def test_delivery(delivery, retries, reached):
    # derived; a simulation agrees
    assert delivery_with_retries(delivery, retries) == pytest.approx(reached, abs=SIXTH_PLACE)


@pytest.mark.parametrize(
    ("forward", "reverse", "acknowledged", "attempts"),
    # derived, 3 retries; a simulation of the first gives 1.3794 attempts
    [(0.9, 0.8, 0.993853, 1.380352), (0.7, 0.7, 0.932348, 1.902751)],
)
def test_acknowledged(forward, reverse, acknowledged, attempts):
    assert acknowledged_with_retries(forward, reverse, 3) == pytest.approx(acknowledged, abs=SIXTH_PLACE)
    assert mean_attempts(forward, reverse, 3) == pytest.approx(attempts, abs=SIXTH_PLACE)


def test_copies():
    assert mean_copies_received(0.9, 0.8, 3) == pytest.approx(1.2423, abs=FOURTH_PLACE)  # derived
    assert mean_attempts(0.9, 0.9, 3) == pytest.approx(1.2330, abs=FOURTH_PLACE)  # derived


@pytest.mark.parametrize(
    ("delivery", "hops", "by_retries"),
    # derived: retries: share end to end
    [
        (0.9, 2, {0: 0.81, 1: 0.9801, 3: 0.9998}),
        (0.9, 3, {0: 0.729, 1: 0.970299, 3: 0.9997}),
        (0.8, 3, {0: 0.512, 1: 0.884736, 3: 0.995208}),
        (0.7, 4, {3: 0.967992}),
    ],
)
def test_end_to_end(delivery, hops, by_retries):
    for retries, share in by_retries.items():
        computed = path_delivery(delivery_with_retries(delivery, retries), hops)
        assert computed == pytest.approx(share, abs=SIXTH_PLACE)


def test_chain():
    # derived: one hop at a time
    assert chain_throughput_share(2) == 0.5
    assert chain_throughput_share(3) == pytest.approx(0.3333, abs=FOURTH_PLACE)


def test_three_ways_to_ten_nodes():
    # derived: 60 octets at 2450 MHz to ten nodes in direct reach, 0.9 either way
    assert frame_air_time_ms(60, 250) == pytest.approx(2.112)
    assert delivery_with_retries(0.9, 1) == pytest.approx(0.99)  # sent twice: 4.224 ms
    assert mean_attempts(0.9, 0.9, 3) == pytest.approx(1.2330, abs=FOURTH_PLACE)
    assert delivery_with_retries(0.9, 3) == pytest.approx(0.9999)
    # tries and share of one hop by the share that one try delivers
    tries = mean_attempts(np.array([0.9, 0.8, 0.5]), 1.0, 3)
    assert tries == pytest.approx(np.array([1.111, 1.248, 1.875]), abs=0.0006)
    assert delivery_with_retries(0.5, 3) == pytest.approx(0.9375)


@pytest.mark.parametrize(("attempt_delivery", "time_ms"), [(0.9, 4.5849), (0.8, 5.1717), (0.5, 7.3344)])
def test_time_of_one_hop(attempt_delivery, time_ms):
    # derived: 60 octets at 2450 MHz (2.112 ms), 3 retries, mean first access on an idle radio channel
    success_ms = ACCESS_MS + 2.112 + TURNAROUND_MS + ACK_MS
    failure_ms = ACCESS_MS + 2.112 + ACK_WAIT_MS
    computed = mean_delivery_time_ms(attempt_delivery, 3, success_ms, failure_ms)
    assert computed == pytest.approx(time_ms, abs=FOURTH_PLACE)


def test_extra_area_of_a_repeat():
    # 1999 broadcast study (from memory): mean 0.41, at most 0.61; exact 3 sqrt 3 / (4 pi), 1/3 + sqrt 3 / (2 pi)
    mean, _ = quad(lambda x: 2 * x * rebroadcast_extra_area(x), 0, 1)
    assert mean == pytest.approx(0.413497, abs=SIXTH_PLACE)
    assert mean == pytest.approx(3 * math.sqrt(3) / (4 * math.pi), abs=SIXTH_PLACE)
    assert rebroadcast_extra_area(1) == pytest.approx(0.608998, abs=SIXTH_PLACE)


@pytest.mark.parametrize(
    ("direct", "shares"),
    # derived: to the relay 0.95, on from it 0.9, for 1 to 4 relays
    [(0.0, (0.855, 0.978975, 0.996951, 0.999558)), (0.6, (0.942, 0.99159, 0.998781, 0.999823))],
)
def test_relays(direct, shares):
    computed = relayed_delivery(direct, 0.95, 0.9, np.arange(1, 5))
    assert computed == pytest.approx(np.array(shares), abs=SIXTH_PLACE)


@pytest.mark.parametrize(
    ("slots", "relays", "alone"),
    # derived and simulated: relays that start together and hear each other
    [
        (8, 2, 0.875),
        (8, 3, 0.8203125),
        (8, 5, 0.7135),
        (8, 10, 0.4905),
        (32, 2, 0.96875),
        (32, 3, 0.9536),
        (32, 5, 0.9235),
        (32, 10, 0.85107),
    ],
)
def test_first_sender_alone(slots, relays, alone):
    assert first_sender_alone(relays, slots) == pytest.approx(alone, abs=FOURTH_PLACE)


@pytest.mark.parametrize(("psdu_octets", "clear"), [(20, 0.46875), (40, 0.1875), (60, 0.03125), (127, 0.0)])
def test_hidden_relays(psdu_octets, clear):
    # derived and simulated: 32 us for each octet, 6 octets before it; 8 waiting times of 0.320 ms
    air_time_ms = (psdu_octets + 6) * 0.032
    assert hidden_relays_clear(air_time_ms, 0.320, 8) == pytest.approx(clear, abs=SIXTH_PLACE)


@pytest.mark.parametrize(
    ("air_time_ms", "shares"),
    # derived and simulated: jitter of 10, 20, 50 ms; 40 and 127 octets at 2450 MHz
    [(1.472, (0.7273, 0.8582, 0.9420)), (4.256, (0.3299, 0.6197, 0.8370))],
)
def test_jitter(air_time_ms, shares):
    computed = jittered_relays_clear(air_time_ms, np.array([10.0, 20.0, 50.0]))
    assert computed == pytest.approx(np.array(shares), abs=FOURTH_PLACE)
    assert jittered_relays_clear(air_time_ms, air_time_ms / 2) == 0
