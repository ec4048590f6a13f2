"""Contention against simulation. Structure: generalised Markov-chain model of 2009, read in a public implementation.

The simulated figures are those of two independent simulations written for this purpose (2.4 GHz, default MAC, random
pauses between packets, eight runs of 40,000 packets); the model is optimistic by no more than it states.
"""

import numpy as np
import pytest

from showplan.physics.contention import (
    STATED_ERRORS,
    Contention,
    contended_busy_share,
    contended_collision_share,
    contended_delivery,
    hidden_collision_share,
)

ACK_MS = 0.352
# utilisation up to: largest errors of busy share and collision share
BUSY_ERRORS = ((0.05, 0.023), (0.10, 0.055), (0.20, 0.092), (0.45, 0.110))
COLLISION_ERRORS = ((0.05, 0.0032), (0.10, 0.011), (0.20, 0.025), (0.45, 0.062))
SIMULATED = [
    # contenders, PSDU, packets/s of each, acknowledged, utilisation, busy, collided, delivered, tries a packet
    (5, 40, 10, True, 0.0886, 0.1099, 0.0242, 0.9997),
    (10, 40, 10, True, 0.1799, 0.2420, 0.0637, 0.9970),
    (10, 40, 10, False, 0.1387, 0.1540, 0.0378, 0.9619),
    (20, 40, 10, False, 0.2673, 0.3053, 0.0943, 0.9020),
    (10, 127, 2, True, 0.0915, 0.1411, 0.0125, 0.9987),
    (5, 127, 10, False, 0.1960, 0.2194, 0.0185, 0.9793),
]


def stated(errors, utilisation):
    """The error stated for this utilisation."""
    return next(error for limit, error in errors if utilisation <= limit)


@pytest.mark.parametrize(("n", "octets", "rate", "answered", "used", "busy", "collided", "delivered"), SIMULATED)
def test_within_the_stated_error(n, octets, rate, answered, used, busy, collided, delivered):
    found = Contention.of(n, rate, (6 + octets) * 0.032, ACK_MS if answered else 0.0, 3 if answered else 0)
    assert found.utilisation == pytest.approx(used, rel=0.06)
    assert found.is_valid
    assert found.delivered - delivered <= stated(STATED_ERRORS, used)
    assert found.delivered >= delivered - 0.0003  # optimistic, but for the simulation's own noise
    assert found.busy_share == pytest.approx(busy, abs=stated(BUSY_ERRORS, used))
    assert found.collision_share == pytest.approx(collided, abs=stated(COLLISION_ERRORS, used))


@pytest.mark.parametrize(
    ("n", "answered", "busy", "collided", "delivered"),
    # 868 MHz BPSK, 40 octets, one packet each two seconds, simulated alike
    [(5, True, 0.0892, 0.0038, 0.9994), (5, False, 0.0621, 0.0025, 0.9972), (10, False, 0.1311, 0.0068, 0.9922)],
)
def test_a_frame_long_against_the_backoff(n, answered, busy, collided, delivered):
    values = (n, 0.5, 18.4, 4.4 if answered else 0.0, 3 if answered else 0, 600, 400)
    assert contended_busy_share(*values) == pytest.approx(busy, abs=0.055)
    assert contended_collision_share(*values) == pytest.approx(collided, abs=0.0032)
    assert contended_delivery(*values) == pytest.approx(delivered, abs=0.0021)


def test_scaling():
    """868 MHz O-QPSK has the same probabilities as 2.4 GHz at 0.4 times the rate: everything counts in symbols."""
    fast = contended_delivery(10, 10, 1.472)
    assert contended_delivery(10, 4, 3.68, 0, 0, 480, 320) == pytest.approx(fast, abs=1e-9)


def test_an_overloaded_channel_is_flagged():
    # simulated, saturated: utilisation 0.6976 and 0.7512; nothing is claimed there
    found = Contention.of(10, 1000, 1.472, ACK_MS, 3)
    assert not found.is_valid
    assert found.stated_error == 1


def test_ceilings_of_unheard_senders():
    # textbook, from memory: pure ALOHA carries at most 1 / (2 e) of the channel, at half a packet an air time
    offered = np.linspace(0.1, 2, 191)
    carried = offered * (1 - hidden_collision_share(1.0, 1000 * offered))
    assert carried.max() == pytest.approx(0.1839, abs=0.00006)
    assert offered[carried.argmax()] == pytest.approx(0.5)


@pytest.mark.parametrize(
    ("air_ms", "rate", "simulated"),
    # two senders that do not hear each other, simulated
    [(1.472, 2, 0.0054), (1.472, 10, 0.0282), (4.256, 10, 0.0794)],
)
def test_hidden_senders(air_ms, rate, simulated):
    cycle_s = 1 / rate + (1.44 + air_ms + 0.64) / 1000
    assert hidden_collision_share(air_ms, 1 / cycle_s) == pytest.approx(simulated, abs=0.003)
