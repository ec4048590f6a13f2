"""What a packet simulation found, beside the closed form's figures of the same Scene. Imports no Django."""

from collections.abc import Iterator, Mapping
from typing import Any

from showplan.planner.scene import Scene
from showplan.planner.simulation.comparing import NOTES, ClosedForm, against, closed_form
from showplan.planner.simulation.results import QUANTILES

SHARES = tuple(f"{100 * share:g}" for share in QUANTILES)


def beside(result: dict[str, Any], scene: Scene) -> dict[str, Any]:
    """The result with `closed_form`: whether it may be used, and for each node its figures and where they lie.

    `delivery_is` and `latency_is` say whether a figure is inside the simulation's 95 % interval, above or below it, or
    which of the two is missing.
    """
    found = closed_form(scene, result["network"], result["house"])
    nodes = [
        {**one, "closed_form": _figures(one, found.nodes[one["node"]]) if one["node"] in found.nodes else None}
        for one in result["nodes"]
    ]
    whole = {
        "utilisation": found.utilisation,
        "is_valid": found.is_valid,
        "in_words": found.in_words,
        "notes": list(NOTES),
    }
    return {**result, "nodes": nodes, "closed_form": whole}


def _figures(simulated: Mapping[str, Any], figures: ClosedForm) -> dict[str, Any]:
    latency_ms = dict(zip(SHARES, figures.latency_ms or (None,) * len(SHARES), strict=True))
    return {
        "delivery": figures.delivery,
        "delivery_is": _against(figures.delivery, simulated["delivery"]),
        "latency_ms": latency_ms,
        "latency_is": {share: _against(latency_ms[share], simulated["latency_ms"][share]) for share in SHARES},
    }


def _against(value: float | None, estimate: Mapping[str, float | None]) -> str:
    return against(value, estimate["low"], estimate["high"])


def beside_in_words(result: Mapping[str, Any]) -> Iterator[str]:
    """How many nodes the two agree on; nothing for a result without the closed form."""
    whole = result.get("closed_form")
    figures = [node["closed_form"] for node in result["nodes"] if whole and node["closed_form"]]
    if not whole or not figures:
        return
    yield whole["in_words"]
    told = {"delivery": [one["delivery_is"] for one in figures]}
    told["95 % latency"] = [one["latency_is"]["95"] for one in figures]
    for name, places in told.items():
        known = [place for place in places if not place.startswith("no ")]
        if "no interval" in places and not known:
            yield f"The closed form's {name} has no interval to be held against: more replications give one."
        elif not known:
            yield f"The closed form has no {name}: no node has a route that keeps the fade margin."
        if not known:
            continue
        off = [f"{known.count(side)} {side}" for side in ("above", "below") if side in known]
        rest = f"; {', '.join(off)}" if off else ""
        inside = known.count("inside")
        yield f"The closed form's {name} lies inside the interval for {inside} of {len(known)} nodes{rest}."
