"""The spectrum page of a venue: each band drawn and in words, and the radio channels that would be best here."""

from collections import defaultdict
from typing import Any

from frontend.present.choice import house_options
from frontend.present.heading import heading
from frontend.present.strips import strip_of
from frontend.present.words import counted, decibels, number
from showplan.services.computing import state_of
from showplan.services.planning import PlannedVenue
from showplan.services.spectrum import channels_for, spectrum_strips


def spectrum_page(planned: PlannedVenue, house: str) -> dict[str, Any]:
    """Everything the page shows; `house` as in the address, empty for the hardest. Raises NotFound."""
    venue, state = planned.venue, state_of(planned.plan, house)
    plan = channels_for(venue, state)
    allowed = {choice.network: {option.radio_channel for option in choice.options} for choice in plan.choices}
    return {
        **heading(venue, "spectrum"),
        "houses": house_options(planned.plan.states, state),
        "house": state,
        "bands": [_band(one, allowed) for one in map(_in_order, spectrum_strips(venue, state))],
        "channel_rows": [_row(choice) for choice in plan.choices],
        "without": [{"network": name, "reason": reason} for name, reason in plan.without],
        "proven": f"proven best of {counted(plan.combinations, 'combination')}".replace(
            str(plan.combinations), number(float(plan.combinations)), 1
        ),
        "total": decibels(plan.total_noise_rise_db),
        "changes": sum(not choice.is_kept for choice in plan.choices),
        "fingerprint": planned.plan.fingerprint,
        "planner_version": planned.plan.planner_version,
    }


def _in_order(band: dict[str, Any]) -> dict[str, Any]:
    """The band with what is taken from the lowest frequency up, as it is drawn."""
    return {**band, "taken": sorted(band["taken"], key=lambda one: (one["low_mhz"], one["high_mhz"]))}


def _row(choice: Any) -> dict[str, Any]:
    now_db = choice.present_noise_rise_db
    return {
        "network": choice.network,
        "present": choice.present_channel,
        "best": choice.radio_channel,
        "frequency": f"{choice.frequency_mhz:.6g} MHz",
        "is_kept": choice.is_kept,
        "now": decibels(now_db) if now_db is not None else "not allowed here",
        "then": decibels(choice.noise_rise_db),
        "reason": choice.reason,
    }


def _band(band: dict[str, Any], allowed: dict[str, set[int]]) -> dict[str, Any]:
    """`allowed` are the radio channels that the region lists, by network; a network without any is not in it."""
    listed = set().union(*(allowed.get(one["network"], set()) for one in band["ours"]))
    networks_on: dict[int, list[str]] = defaultdict(list)
    for one in band["ours"]:
        networks_on[one["radio_channel"]].append(one["network"])
    words = [_channel_words(one, networks_on, listed) for one in band["channels"]]
    return {
        "key": band["phy"],
        "name": band["name"],
        "limits": f"{band['low_mhz']:.6g} to {band['high_mhz']:.6g} MHz",
        "strip": strip_of(band, networks_on, words, {one["radio_channel"] for one in band["channels"]} - listed),
        "taken": [_taken_words(one) for one in band["taken"]],
        "ours": [_our_words(one) for one in band["ours"]],
        "channels": [
            {
                "number": one["radio_channel"],
                "frequency": f"{one['frequency_mhz']:.6g} MHz",
                "is_listed": "yes" if one["radio_channel"] in listed else "no",
                "taken_by": ", ".join(one["taken_by"]) or "–",
                "ours": ", ".join(networks_on.get(one["radio_channel"], [])) or "–",
            }
            for one in band["channels"]
        ],
        "has_listed": bool(listed),
        "all_listed": all(one["radio_channel"] in listed for one in band["channels"]),
        "free": [
            one["radio_channel"] for one in band["channels"] if one["radio_channel"] in listed and not one["taken_by"]
        ],
    }


def _channel_words(one: dict[str, Any], networks_on: dict[int, list[str]], listed: set[int]) -> str:
    taken = f"taken by {', '.join(one['taken_by'])}" if one["taken_by"] else "free"
    ours = networks_on.get(one["radio_channel"], [])
    parts = [taken, *(["not listed for this region"] if one["radio_channel"] not in listed else [])]
    parts += [f"ours: {', '.join(ours)}"] if ours else []
    return f"radio channel {one['radio_channel']}, {one['frequency_mhz']:.6g} MHz: {'; '.join(parts)}"


def _taken_words(one: dict[str, Any]) -> str:
    level_dbm = one["received_dbm"]
    level = "its level is not measured" if level_dbm is None else f"{number(level_dbm)} dBm"
    return f"{one['label']}: {one['low_mhz']:.6g} to {one['high_mhz']:.6g} MHz, {level}"


def _our_words(one: dict[str, Any]) -> str:
    if one["low_mhz"] is None:
        return f"{one['network']}: radio channel {one['radio_channel']}, which its PHY does not have"
    span = f"{one['low_mhz']:.6g} to {one['high_mhz']:.6g} MHz"
    return f"{one['network']}: radio channel {one['radio_channel']}, {span}"
