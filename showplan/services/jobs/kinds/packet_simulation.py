"""How a network carries the show, frame by frame: the packet simulation as a job."""

from collections.abc import Iterator, Sequence
from typing import Any, Final, Literal

import numpy as np
from numpy.typing import NDArray
from pydantic import Field

from showplan.planner.scene import Scene
from showplan.planner.simulation import (
    Estimate,
    NetworkSimulation,
    SimulationError,
    SimulationResult,
    Wishes,
    from_scene,
    simulate,
)
from showplan.planner.simulation.results import QUANTILES
from showplan.planner.simulation.world import REASONS, STEPS
from showplan.planner.watch import CannotCompute, Watch
from showplan.services.errors import FieldFault
from showplan.services.jobs.kind import Kind, Parameters
from showplan.services.jobs.kinds.compared import beside, beside_in_words

NAME = "packet-simulation"
STEPS_TOLD: Final = 4  # of each octave of the latency histogram
REASON_WORDS: Final = {
    "collision": "collisions",
    "access": "a channel that was never free",
    "noise": "noise and fading",
    "relays": "relays that did not pass it on",
    "queue": "full buffers",
}


class PacketSimulation(Parameters):
    """Which network, for how long, and how often over: more replications, narrower intervals."""

    network: str = Field(min_length=1, max_length=80, title="Network")
    house: Literal["empty", "full"] = Field("empty", title="With the house")
    seconds: float = Field(60.0, ge=1.0, le=36_000.0, title="Seconds of show")
    replications: int = Field(10, ge=1, le=100, title="Replications")
    seed: int = Field(1, ge=0, le=2**32 - 1, title="Seed of the random numbers")
    fading: bool = Field(True, title="Fading for nodes that move")
    sensing_dbm: float | None = Field(None, ge=-120.0, le=0.0, title="Channel counts as busy from (dBm)")
    burst_ms: float = Field(1.0, ge=0.01, le=10_000.0, title="Mean burst of other radio (ms)")


def check(scene: Scene, parameters: PacketSimulation) -> Iterator[FieldFault]:
    """An unknown network, or one that cannot be simulated."""
    networks = [network.name for network in scene.networks]
    if parameters.network not in networks:
        yield FieldFault("network", f"there is no network of that name; known: {', '.join(networks) or 'none'}")
        return
    try:
        _simulation(scene, parameters)
    except CannotCompute as error:
        yield FieldFault("network", str(error))


def compute(scene: Scene, parameters: PacketSimulation, watch: Watch) -> dict[str, Any]:
    """What the network's nodes receive, and how late; from the replications done by then where it is cancelled."""
    watch.progress(0.0, "working out what reaches what")
    simulation = _simulation(scene, parameters)
    try:
        found = simulate(simulation.given, parameters.replications, watch=watch)
    except SimulationError as error:
        if watch.is_cancelled():
            return _head(parameters, simulation, 0)
        raise CannotCompute(str(error)) from error
    return beside(_values(parameters, simulation, found), scene)


def in_words(result: dict[str, Any]) -> Sequence[str]:
    """Delivery and latency of the network and of its worst node, what packets were lost to, how full the channel is."""
    if not result["nodes"]:
        return ["Cancelled before the first replication was done."]
    all_of_it = result["all"]
    worst = min(result["nodes"], key=lambda node: (node["delivery"]["value"], node["node"]))
    sentences = [
        f"Network {result['network']}, house {result['house']}: {_percent(all_of_it['delivery'])} of the packets"
        f" arrive, worst at {worst['node']}, {_percent(worst['delivery']['value'])}.",
    ]
    if all_of_it["latency_ms"]["50"]["value"] is not None:
        half, most, nearly = (all_of_it["latency_ms"][name]["value"] for name in ("50", "95", "99"))
        sentences.append(
            f"They take {half:.1f} ms at the median, {most:.1f} ms at most for 95 %, {nearly:.1f} for 99 %."
        )
    reasons = sorted(all_of_it["losses"].items(), key=lambda item: -item[1])
    if lost := [REASON_WORDS[name] for name, count in reasons if count]:
        sentences.append(f"Lost to, most often first: {', '.join(lost)}.")
    sentences.append(f"Somebody sends {_percent(all_of_it['busy_share']['value'])} of the time.")
    sentences += beside_in_words(result)
    return sentences


def _simulation(scene: Scene, parameters: PacketSimulation) -> NetworkSimulation:
    wishes = Wishes(
        duration_s=parameters.seconds,
        seed=parameters.seed,
        fading=parameters.fading,
        sensing_dbm=parameters.sensing_dbm,
        mean_burst_ms=parameters.burst_ms,
    )
    return from_scene(scene, scene.network(parameters.network), parameters.house, wishes)


def _head(parameters: PacketSimulation, simulation: NetworkSimulation, replications: int) -> dict[str, Any]:
    return {
        "network": parameters.network,
        "house": parameters.house,
        "seconds": parameters.seconds,
        "seed": parameters.seed,
        "replications": replications,
        "notes": list(simulation.notes),
        "all": None,
        "nodes": [],
        "closed_form": None,
    }


def _values(parameters: PacketSimulation, simulation: NetworkSimulation, found: SimulationResult) -> dict[str, Any]:
    rows = list(simulation.receiving)
    edges_ms, counts = _coarse(found, rows)
    offered, delivered = int(found.offered[rows].sum()), int(found.delivered[rows].sum())
    whole = {
        "offered": offered,
        "delivered": delivered,
        "delivery": delivered / offered if offered else 0.0,
        "latency_ms": _latencies(found.all_latency_ms, ()),
        "losses": dict(zip(REASONS, found.losses[rows].sum(axis=0).tolist(), strict=True)),
        "utilisation": _estimate(found.utilisation, ()),
        "busy_share": _estimate(found.busy_share, ()),
        "histogram_edges_ms": edges_ms,
        "histogram": counts.sum(axis=0).tolist(),
    }
    nodes = [
        {
            "node": simulation.labels[row],
            "offered": int(found.offered[row]),
            "delivered": int(found.delivered[row]),
            "delivery": _estimate(found.delivery, (row,)),
            "latency_ms": _latencies(found.latency_ms, (row,)),
            "losses": dict(zip(REASONS, found.losses[row].tolist(), strict=True)),
            "histogram": count.tolist(),
        }
        for row, count in zip(rows, counts, strict=True)
        if found.offered[row]
    ]
    senders = [
        {
            "node": simulation.labels[row],
            "air_share": float(found.air_share[row]),
            "sent": int(found.sent[row]),
            "no_access": int(found.no_access[row]),
            "no_ack": int(found.no_ack[row]),
            "found_busy_share": float(found.sensed_busy[row] / found.sensed[row]),
        }
        for row in np.flatnonzero(found.sensed)
    ]
    return _head(parameters, simulation, found.replications) | {"all": whole, "nodes": nodes, "senders": senders}


def _coarse(found: SimulationResult, rows: list[int]) -> tuple[list[float], NDArray[np.int64]]:
    """Edges and counts of the latency histograms with fewer steps, from the first to the last that is not empty."""
    joined = STEPS // STEPS_TOLD
    counts = found.histogram[rows].reshape(len(rows), -1, joined).sum(axis=2)
    used = np.flatnonzero(counts.sum(axis=0))
    first, last = (int(used[0]), int(used[-1])) if len(used) else (0, -1)
    return found.histogram_edges_ms[::joined][first : last + 2].tolist(), counts[:, first : last + 1]


def _estimate(estimate: Estimate, at: tuple[int, ...]) -> dict[str, float | None]:
    numbers = {"value": estimate.value[at], "low": estimate.low[at], "high": estimate.high[at]}
    return {name: float(number) if np.isfinite(number) else None for name, number in numbers.items()}


def _latencies(estimate: Estimate, at: tuple[int, ...]) -> dict[str, dict[str, float | None]]:
    return {f"{100 * share:g}": _estimate(estimate, (*at, number)) for number, share in enumerate(QUANTILES)}


def _percent(share: float) -> str:
    return f"{int(share * 1000) / 10:g} %"  # rounded down: what is not everything is never told as 100 %


KIND = Kind(
    name=NAME,
    title="Packet simulation",
    about="Every frame of a network sent, sensed, disturbed, received or lost: what each node gets, and how late.",
    parameters=PacketSimulation,
    compute=compute,
    check=check,
    in_words=in_words,
    page="air",
)
