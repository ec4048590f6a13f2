"""The packet simulation by itself: repeatable, sane at its edges, and refusing what is no network."""

import math
from dataclasses import fields, replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from showplan.planner.simulation import (
    Background,
    MediumAccess,
    Packet,
    Reception,
    SimulationError,
    SimulationInput,
    SimulationResult,
    Source,
    running,
    simulate,
)
from showplan.planner.simulation.results import Estimate, edges_ms
from showplan.planner.watch import Unwatched
from tests.simulations import LOUD_DBM, NO_CAPTURE, flood, star

COLLISION, NO_ACCESS, NOISE, RELAYS, QUEUE = range(5)


def _arrays(result: SimulationResult) -> list[np.ndarray]:
    found = []
    for field in fields(result):
        value = getattr(result, field.name)
        parts = (value.value, value.low, value.high) if isinstance(value, Estimate) else (value,)
        found += [np.asarray(part) for part in parts]
    return found


def _same(one: SimulationResult, other: SimulationResult) -> bool:
    return all(
        np.array_equal(a, b, equal_nan=a.dtype.kind == "f") for a, b in zip(_arrays(one), _arrays(other), strict=True)
    )


def test_the_same_again_on_any_number_of_threads():
    network = star(4, 60, 20, acknowledged=True, duration_s=5.0, seed=5, trace_length=50)
    alone = simulate(network, 6, threads=1)
    assert _same(alone, simulate(network, 6, threads=1))
    assert _same(alone, simulate(network, 6, threads=3))
    assert not _same(alone, simulate(replace(network, seed=6), 6))


def test_replications_are_added_in_order():
    """The first ones stay the same when more are asked for."""
    network = star(4, 60, 20, acknowledged=True, duration_s=5.0)
    few, more = simulate(network, 1), simulate(network, 2)
    second = more.histogram - few.histogram
    assert second.min() >= 0
    assert second.sum() > 0
    assert np.isnan(few.delivery.low[4]) or few.delivery.value[4] == 1


def test_room_changes_nothing(monkeypatch):
    """A run that had to be begun again with larger arrays gives what it would have given with them at once."""
    crowded = flood(4, 60, floods=200, jitter_us=5e6)
    crowded = replace(crowded, sources=(replace(crowded.sources[0], rate_hz=200.0),), duration_s=10.0)
    small = simulate(crowded, 1)
    real = running.build
    monkeypatch.setattr(running, "build", lambda given, entropy, room: real(given, entropy, 64 * room))
    assert _same(small, simulate(crowded, 1))
    assert small.delivered[5] > 0


@settings(max_examples=25, deadline=None)
@given(
    octets=st.integers(1, 127),
    per_s=st.one_of(st.floats(0.5, 500), st.just(math.inf)),
    acknowledged=st.booleans(),
    min_be=st.integers(0, 5),
    seed=st.integers(0, 2**32),
)
def test_one_sender_never_collides(octets, per_s, acknowledged, min_be, seed):
    network = star(
        1, octets, per_s, acknowledged=acknowledged, duration_s=2.0, seed=seed, access=MediumAccess(min_be=min_be)
    )
    found = simulate(network)
    assert found.losses.sum() == found.failed.sum() == found.sensed_busy.sum() == found.no_ack.sum() == 0
    assert np.array_equal(found.delivered, found.offered)


@settings(max_examples=25, deadline=None)
@given(
    power_dbm=st.lists(st.floats(-110, -40), min_size=25, max_size=25),
    rule=st.sampled_from(["overlap", "threshold", "error-rate"]),
    acknowledged=st.booleans(),
    busy_share=st.floats(0.01, 1),
    seed=st.integers(0, 2**32),
)
def test_everything_is_accounted_for(power_dbm, rule, acknowledged, busy_share, seed):
    """What was offered was delivered or lost for a reason, in any network."""
    packets = tuple(
        Packet(psdu_octets=40, wanted_by=(node,), destination=node, acknowledged=acknowledged) for node in (1, 2, 3)
    )
    to_all = Packet(psdu_octets=80, wanted_by=(1, 2, 3, 4), repeated_by=(1, 2))
    network = SimulationInput(
        power_dbm=np.reshape(power_dbm, (5, 5)),
        sources=(
            Source(node=0, packets=(*packets, to_all), rate_hz=30.0),
            Source(node=4, packets=packets, rate_hz=9.0, kind="random"),
        ),
        reception=Reception(rule=rule),
        backgrounds=(Background(power_dbm=-80.0, busy_share=busy_share),),
        fades=[False, True, False, False, False],
        jitter_us=3000.0,
        queue_packets=4,
        duration_s=1.0,
        seed=seed,
    )
    found = simulate(network)
    assert np.array_equal(found.offered, found.delivered + found.losses.sum(axis=1))
    assert np.array_equal(found.histogram.sum(axis=1), found.delivered)
    assert found.offered[0] == 0
    assert found.offered[1] > 0
    assert 0 <= found.busy_share.value <= min(found.utilisation.value, 1)


def test_reasons_of_loss():
    """Each reason in a network made for it."""
    overload = star(1, 127, 400, acknowledged=False, queue_packets=2)
    overload = replace(overload, sources=(replace(overload.sources[0], kind="random"),))
    assert np.argmax(simulate(overload).losses[1]) == QUEUE
    assert np.argmax(simulate(star(2, 127, 10, acknowledged=False, hidden=True)).losses[2]) == COLLISION
    jammed = star(1, 60, 10, acknowledged=True, backgrounds=(Background(power_dbm=-60.0, busy_share=1.0),))
    assert simulate(jammed).losses[1].tolist()[NO_ACCESS] == simulate(jammed).offered[1] > 0
    weak = star(1, 60, 10, acknowledged=False, noise_dbm=LOUD_DBM + 5)
    assert np.argmax(simulate(weak).losses[1]) == NOISE
    assert np.argmax(simulate(flood(2, 127, hidden=True, floods=100)).losses[3]) == COLLISION
    deaf = flood(2, 60, floods=100)
    deaf.power_dbm[0] = np.nan
    assert np.argmax(simulate(deaf).losses[3]) == RELAYS


def _pair(**changes):
    """Two senders that do not hear each other and start together, one 10 dB stronger at the sink."""
    power_dbm = np.array([[np.nan, np.nan, -50.0], [np.nan, np.nan, -60.0], [np.nan, np.nan, np.nan]])
    packet = Packet(psdu_octets=127, wanted_by=(2,))
    sources = tuple(Source(node=i, packets=(packet,), rate_hz=10.0, offset_s=0.0) for i in (0, 1))
    return SimulationInput(power_dbm=power_dbm, sources=sources, duration_s=500.0, **changes)


def test_the_stronger_frame_captures():
    """A frame of 127 octets outlasts every backoff: the two always overlap."""
    assert simulate(_pair(reception=NO_CAPTURE)).delivered.sum() == 0
    # The first holds the receiver, unless the stronger comes within its synchronising time: the backoffs' share.
    first = simulate(_pair(reception=Reception(rule="threshold", threshold_db=3))).delivery.value[2] * 2
    assert first == pytest.approx(36 / 64, abs=0.03)
    always = simulate(_pair(reception=Reception(rule="threshold", threshold_db=3, takes_over=True)))
    assert always.delivery.value[2] * 2 == pytest.approx(1, abs=1e-9)


def test_busy_background_is_sensed():
    """Sensing finds the channel busy with the share of the time, and what begins while it lasts."""
    background = Background(power_dbm=-60.0, busy_share=0.3, mean_burst_s=0.01)
    found = simulate(star(1, 20, 20, acknowledged=False, duration_s=500.0, backgrounds=(background,)), 4)
    first_tries = 1 - (1 - 0.3) * math.exp(-0.128e-3 / (0.01 * 7 / 3))
    assert found.sensed_busy[0] / found.sensed[0] > first_tries
    assert found.sensed_busy[0] / found.sensed[0] == pytest.approx(first_tries, abs=0.2)


def test_a_chain_of_relays():
    """0 - 1 - 2 - 3, only neighbours hear each other: three hops, each acknowledged."""
    n = 4
    power_dbm = np.full((n, n), np.nan)
    next_hop = np.full((n, n), -1, dtype=np.int32)
    for i in range(n - 1):
        power_dbm[i, i + 1] = power_dbm[i + 1, i] = LOUD_DBM
        next_hop[i, i + 1 :] = i + 1
    packet = Packet(psdu_octets=60, wanted_by=(3,), destination=3, acknowledged=True)
    chain = SimulationInput(
        power_dbm=power_dbm,
        next_hop=next_hop,
        sources=(Source(node=0, packets=(packet,), rate_hz=5.0),),
        duration_s=400.0,
    )
    found = simulate(chain, 2)
    assert found.delivery.value[3] == 1
    # IEEE 802.15.4 at 2450 MHz, idle channel: access 1.44 ms, frame 2.112 ms, turnaround and acknowledgement 0.544 ms.
    assert found.mean_latency_ms[3] == pytest.approx(3 * (1.44 + 2.112 + 0.544) - 0.544, rel=0.01)
    assert found.sent.tolist()[:3] == [found.packets[0]] * 3


def test_quantiles_of_a_known_spread():
    """The backoff alone spreads the latency: eight equal steps of 320 us above 0.32 ms and the frame."""
    found = simulate(star(1, 20, 20, acknowledged=False, duration_s=2000.0))
    least_ms = 0.32 + 26 * 0.032
    assert found.latency_ms.value[1] == pytest.approx(least_ms + 0.32 * np.array([3.5, 7, 7]), rel=0.1)
    assert found.mean_latency_ms[1] == pytest.approx(least_ms + 0.32 * 3.5, rel=0.002)
    edges = edges_ms()
    assert (np.diff(edges) / edges[:-1]).max() == pytest.approx(1 / 64)


class Impatient(Unwatched):
    """Cancels when so many replications are done."""

    def __init__(self, after: int) -> None:
        self.after, self.told = after, []

    def progress(self, done, doing, best=None, bound=None):
        self.told.append((done, doing))

    def is_cancelled(self):
        return int(self.told[-1][1].split()[0]) >= self.after


def test_cancelling_keeps_what_is_done(monkeypatch):
    monkeypatch.setattr(running, "LOOK_EVERY_S", 0.01)
    network = star(5, 40, 10, acknowledged=True, duration_s=300.0)
    watch = Impatient(2)
    found = simulate(network, 200, threads=1, watch=watch)
    assert 2 <= found.replications < 200
    assert _same(found, simulate(network, found.replications, threads=1))
    assert all(0 <= done <= 1 for done, _ in watch.told)
    with pytest.raises(SimulationError, match="cancelled"):
        simulate(replace(network, duration_s=1e5), 2, threads=1, watch=Impatient(0))


PACKET = Packet(psdu_octets=20, wanted_by=(1,))
FAULTY = [
    ({"power_dbm": np.zeros((2, 3))}, "square"),
    ({"noise_dbm": [1.0, 2.0, 3.0]}, "noise_dbm must be one value or 2"),
    ({"duration_s": 0.0}, "duration_s"),
    ({"sources": ()}, "at least one source"),
    ({"sources": (Source(node=2, packets=(PACKET,), rate_hz=1.0),)}, "source 1: node 2 is none of the 2"),
    ({"sources": (Source(node=1, packets=(PACKET,), rate_hz=1.0),)}, "other than its sender"),
    ({"sources": (Source(node=0, packets=(PACKET,), rate_hz=math.inf),)}, "finite"),
    ({"access": MediumAccess(min_be=6)}, "min_be 6"),
    ({"access": MediumAccess(ack_wait_us=500.0)}, "544 us"),
    ({"next_hop": np.full((2, 2), 2)}, "next_hop"),
    ({"next_hop": np.array([[0, 0], [0, 1]])}, "loop on the way from node 0 to node 1"),
    ({"sources": (Source(node=0, packets=(PACKET,), rate_hz=1.0, rest_s=-1.0),)}, "rest_s"),
    ({"backgrounds": (Background(power_dbm=-60.0, busy_share=0.0),)}, "background 1"),
]


@pytest.mark.parametrize(("changes", "words"), FAULTY)
def test_what_is_no_network_is_refused(changes, words):
    network = star(1, 20, 10, acknowledged=True)
    with pytest.raises(SimulationError, match=words):
        simulate(replace(network, **changes))
