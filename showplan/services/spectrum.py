"""The spectrum of a venue: what is taken, what is ours, and which radio channels the networks should take here."""

from dataclasses import asdict
from typing import Any

from showplan.planner.channels import ChannelPlan, channel_plan
from showplan.planner.links import centre_frequency_mhz, members
from showplan.planner.phys import phy_of
from showplan.planner.reception import interference_of
from showplan.planner.scene import Scene
from showplan.records.models import ChannelChoice, Network, Venue
from showplan.services.computing import state_of
from showplan.services.editing import edit
from showplan.services.errors import NotFound
from showplan.services.planning import PlannedVenue, plan_venue
from showplan.services.rights import Caller, refuse_unless_editor


def channels_for(venue: Venue, house: str = "") -> ChannelPlan:
    """The best radio channels for the venue's networks. Raises PlanImpossible, NotFound."""
    planned = plan_venue(venue)
    return channel_plan(planned.scene, state_of(planned.plan, house))


def channel_values(plan: ChannelPlan) -> dict[str, Any]:
    """A channel plan as JSON values."""
    values = asdict(plan)
    values["choices"] = [
        {**asdict(choice), "is_kept": choice.is_kept, "options": [asdict(option) for option in choice.options]}
        for choice in plan.choices
    ]
    values["without"] = [{"network": name, "reason": reason} for name, reason in plan.without]
    return values


def apply_channels(caller: Caller, venue: Venue, house: str = "") -> ChannelPlan:
    """Take the best channels in this venue; one revision. Elsewhere the networks keep theirs."""
    project = venue.project
    refuse_unless_editor(caller, project)
    with edit(project, caller.actor()) as change:
        plan = channels_for(venue, house)
        networks = {network.name: network for network in Network.objects.filter(project=project)}
        there = {one.network_id: one for one in ChannelChoice.objects.filter(venue=venue).select_related("network")}
        for choice in plan.choices:
            network = networks.get(choice.network)
            if network is None:
                raise NotFound(f"network {choice.network!r} was deleted meanwhile")
            own = there.get(network.pk)
            if own is not None:
                own.venue = venue
                change.update(own, {"radio_channel": choice.radio_channel})
            elif not choice.is_kept:
                change.create([ChannelChoice(venue=venue, network=network, radio_channel=choice.radio_channel)])
    return plan


def spectrum_strips(venue: Venue, house: str = "") -> list[dict[str, Any]]:
    """For each band that a network of ours uses here: what is taken and what is ours, as spans in MHz."""
    planned = plan_venue(venue)
    state = state_of(planned.plan, house)
    used = [network for network in planned.scene.networks if members(planned.scene, network)]
    strips = []
    for key in dict.fromkeys(network.phy for network in used):
        phy = phy_of(planned.scene, key)
        taken = [
            {
                "label": other.label,
                "low_mhz": other.centre_mhz - other.bandwidth_mhz / 2,
                "high_mhz": other.centre_mhz + other.bandwidth_mhz / 2,
                "received_dbm": other.full_house_dbm
                if state == "full" and other.full_house_dbm
                else other.received_dbm,
            }
            for other in planned.scene.occupied_spectrum
            if interference_span(other, phy.band_low_mhz, phy.band_high_mhz)
        ]
        strips.append(
            {
                "phy": phy.key,
                "name": phy.name,
                "low_mhz": phy.band_low_mhz,
                "high_mhz": phy.band_high_mhz,
                "taken": taken,
                "ours": [_span(planned.scene, network, phy) for network in used if network.phy == key],
                "channels": [_channel(planned, phy, number, state) for number in phy.radio_channels],
            }
        )
    return strips


def interference_span(other: Any, low_mhz: float, high_mhz: float) -> bool:
    """Whether an occupant reaches into a band."""
    return bool(
        other.centre_mhz - other.bandwidth_mhz / 2 < high_mhz and other.centre_mhz + other.bandwidth_mhz / 2 > low_mhz
    )


def _span(scene: Scene, network: Any, phy: Any) -> dict[str, Any]:
    centre_mhz = centre_frequency_mhz(scene, network)
    half = phy.occupied_bandwidth_mhz / 2
    return {
        "network": network.name,
        "radio_channel": network.radio_channel,
        "low_mhz": None if centre_mhz is None else centre_mhz - half,
        "high_mhz": None if centre_mhz is None else centre_mhz + half,
    }


def _channel(planned: PlannedVenue, phy: Any, number: int, state: Any) -> dict[str, Any]:
    frequency_mhz = phy.centre_frequency_mhz(number)
    taken_by = [
        other.label
        for other in planned.scene.occupied_spectrum
        if interference_of(other, frequency_mhz, phy.occupied_bandwidth_mhz, state) is not None
        or abs(other.centre_mhz - frequency_mhz) < (other.bandwidth_mhz + phy.occupied_bandwidth_mhz) / 2
    ]
    return {"radio_channel": number, "frequency_mhz": frequency_mhz, "taken_by": taken_by}
