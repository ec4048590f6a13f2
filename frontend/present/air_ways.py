"""Ways of sending one network's show side by side, and how many networks would reach the rate."""

from collections.abc import Mapping
from typing import Any

from frontend.editing.wording import sentence
from frontend.present.words import counted, in_digits, milliseconds, number, percent, times_a_second
from showplan.services.air import strategies_in
from showplan.services.computing import state_of
from showplan.services.planning import PlannedVenue

MOST_IN_FRONT = 8  # and the present one; the rest is folded


def ways_of(planned: PlannedVenue, network: str, house: str) -> dict[str, Any]:
    """The comparison, the best way first; an empty name is the first network. Raises NotFound for one without nodes."""
    known = planned.plan.analyses[state_of(planned.plan, house)].air
    found = strategies_in(planned, network or next(iter(known), ""), house)
    ways = [_way(one) for one in found["strategies"]]
    in_front = [way for index, way in enumerate(ways) if index < MOST_IN_FRONT or way["is_present"]]
    return {
        "venue": planned.venue,
        "network": found["network"],
        "house": found["house"],
        "ways": in_front,
        "other_ways": [way for way in ways if way not in in_front],
        "energy_basis": found["energy_basis"],
        "split": _split(found["split"]) if found["split"] else None,
    }


def _way(way: Mapping[str, Any]) -> dict[str, Any]:
    energy_j = way["energy_j_per_show_hour"]
    return {
        "words": way["in_words"],
        "rate": times_a_second(way["refresh_hz"]).replace(" frames a second", " Hz"),
        "fits": way["fits"],
        "latency": "never there" if way["latency_ms"] is None else f"{way['latency_ms']:.0f} ms",
        "delivery": percent(way["delivery"]),
        "air_time": milliseconds(way["air_time_ms"]),
        "energy": "–" if energy_j is None else f"{in_digits(energy_j, 3)} J",
        "use": "–" if way["utilisation"] is None else percent(way["utilisation"]),
        "is_valid": way["is_estimate_valid"],
        "is_best": way["is_best"],
        "is_present": way["is_present"],
        "reason": way["reason"],
    }


def _split(split: Mapping[str, Any]) -> dict[str, Any]:
    shares = split["shares"]
    return {
        "wanted": times_a_second(split["wanted_hz"]),
        "is_enough": split["is_enough"],
        "verdict": "reached" if split["is_enough"] else "not reached",
        "size": f"{counted(len(shares), 'network')}, each with a gateway and a feed of its own, of"
        f" {counted(split['radio_channels'], 'radio channel')} to be had here",
        "reason": sentence(split["reason"]),
        "unreached": ", ".join(split["unreached"]),
        "shares": [
            {
                "number": index,
                "gateway": share["gateway"],
                "count": counted(len(share["nodes"]), "node"),
                "nodes": ", ".join(share["nodes"]),
                "slots": number(share["slots"]),
                "rate": times_a_second(share["refresh_hz"]),
            }
            for index, share in enumerate(shares, 1)
        ],
    }
