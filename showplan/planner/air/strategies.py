"""Ways of sending one network's show side by side, and the one to take."""

from collections.abc import Iterator
from dataclasses import dataclass, replace

from showplan.planner.air.network import SHOW_HOUR_S, Draft
from showplan.planner.air.occupancy import Traffics, beside
from showplan.planner.air.radio import radio_of
from showplan.planner.air.results import NetworkAir
from showplan.planner.air.words import LATE_MS
from showplan.planner.analysis import Analysis
from showplan.planner.scene_traffic import Traffic

# Delivery that is as good as another, and latency and energy that are: differences below are not a reason to choose.
EQUAL_DELIVERY = 0.001


@dataclass(frozen=True)
class Strategy:
    """One way of sending and what comes of it.

    `refresh_hz` fits, of `wanted_hz`; `latency_ms` is kept by 95 % of the frames to the node served last, None where
    none is served; `delivery` is that of the node served worst, 0 to 1; `air_time_ms` and `energy_mj` of one frame, all
    senders together; the energy is that of sending, without waiting and listening. `is_best` marks the one to take,
    with the `reason`; `is_present` the network's own way.
    """

    traffic: Traffic
    refresh_hz: float
    latency_ms: float | None
    delivery: float
    air_time_ms: float
    energy_mj: float
    utilisation: float
    is_estimate_valid: bool
    fits: bool
    is_present: bool
    is_best: bool = False
    reason: str = ""

    @property
    def energy_j_per_show_hour(self) -> float:
        """Energy of all senders in an hour of show, at the rate wanted or the one that fits if that is less."""
        return self.energy_mj / 1000 * min(self.refresh_hz, self.traffic.refresh_hz) * SHOW_HOUR_S

    @property
    def in_words(self) -> str:
        """The way of sending as a phrase."""
        traffic = self.traffic
        groups = f"packets for {traffic.groups} groups"
        to = {"all": "packets for all", "groups": groups, "each": "a packet for each node"}
        by = {"routed": "by route", "repeated": "repeated by every relay", "none": "without relays"}
        again = f"acknowledged, {traffic.retries} retries" if traffic.acknowledged else f"sent {traffic.copies} times"
        if traffic.copies == 1 and not traffic.acknowledged:
            again = "sent once"
        coding = "changes only" if traffic.coding == "changes" else "every level"
        return f"{to[traffic.addressing]}, {by[traffic.relaying]}, {again}, {coding}"


def strategies(analysis: Analysis, network: str) -> tuple[Strategy, ...]:
    """Every sensible way of sending one network's show, the best first. Empty where nothing is sent."""
    if network not in analysis.air:
        return ()
    scene = analysis.scene
    radio = radio_of(scene, scene.network(network), analysis.links[network], analysis.routes[network])
    if not radio.use.by_node:
        return ()
    present = scene.traffic(network)
    others = _others(analysis, network)
    rows = [
        _strategy(Draft.of(radio, analysis.state, traffic).finished(others), present)
        for traffic in ways(present, has_relays=bool(radio.is_relay.any()))
    ]
    rows.sort(key=_rank)
    return (replace(rows[0], is_best=True, reason=_reason(rows[0])), *rows[1:])


def ways(present: Traffic, *, has_relays: bool = True) -> Iterator[Traffic]:
    """The ways to compare: addressing by relaying by tries by coding, and the present one."""
    found = dict.fromkeys([present])
    for addressing in ("all", "groups", "each"):
        for relaying in ("routed", "repeated", "none") if has_relays else ("none",):
            for tries in ("once", "twice", "acknowledged"):
                if tries == "acknowledged" and (addressing != "each" or relaying == "repeated"):
                    continue
                for coding in ("full", "changes"):
                    way = replace(
                        present,
                        addressing=addressing,
                        relaying=relaying,
                        acknowledged=tries == "acknowledged",
                        copies=2 if tries == "twice" else 1,
                        coding=coding,
                    )
                    found[way] = None
    yield from found


def _others(analysis: Analysis, network: str) -> list[Traffics]:
    scene = analysis.scene
    every = {
        name: Draft.of(
            radio_of(scene, scene.network(name), analysis.links[name], analysis.routes[name]), analysis.state
        ).traffics()
        for name in analysis.air
    }
    return beside(every[network], every.values())


def _strategy(air: NetworkAir, present: Traffic) -> Strategy:
    served = air.served
    late = [node.latency.p95_ms for node in served if node.latency]
    return Strategy(
        traffic=air.traffic,
        refresh_hz=air.refresh_hz,
        latency_ms=max(late, default=None),
        delivery=min((node.delivery for node in served), default=0.0),
        air_time_ms=air.air_time_ms,
        energy_mj=air.energy_mj,
        utilisation=air.channel_utilisation,
        is_estimate_valid=air.contention.is_valid,
        fits=air.fits,
        is_present=air.traffic == present,
    )


def _rank(row: Strategy) -> tuple[object, ...]:
    """What fits and can be estimated first; then delivery in steps, on time before late, least air time."""
    late = row.latency_ms is None or row.latency_ms > LATE_MS
    rate = 0.0 if row.fits else -row.refresh_hz
    return (
        not row.fits,
        not row.is_estimate_valid,
        round(rate, 3),
        -round(row.delivery / EQUAL_DELIVERY),
        late,
        row.traffic.coding != "full",
        round(row.air_time_ms, 6),
        row.in_words,
    )


def _reason(row: Strategy) -> str:
    latency = "" if row.latency_ms is None else f", 95 % within {row.latency_ms:.0f} ms"
    figures = f"{row.refresh_hz:.3g} frames a second, {row.delivery:.1%} at the worst node{latency}"
    if row.fits:
        return f"Reaches the rate wanted with the best delivery, then the least air time: {figures}."
    return f"None reaches the rate wanted; this comes nearest: {figures}."
