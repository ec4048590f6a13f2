"""Which radio channel each network of a venue should take: least noise rise, within the region, proven best.

For a network on a channel two things count: the noise rise that its receivers get from the spectrum that is taken,
and from the transmitters of the venue's other networks. The assignment with the least sum is found by branch and
bound: networks are given channels one after another, and a branch is left as soon as it cannot beat the best so far.
Every combination is either tried or excluded by that bound, so the answer is the optimum. Where two choices cost
the same to a hundredth of a dB, the channel that the network has already is kept.
"""

import math
from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from showplan import reference
from showplan.physics.decibels import add_powers_dbm
from showplan.physics.interference import interference_after_rejection_dbm, overlap_share, required_rejection_db
from showplan.physics.noise import thermal_noise_dbm
from showplan.planner.ends import end_of
from showplan.planner.links import centre_frequency_mhz, members
from showplan.planner.obstacles import HouseState
from showplan.planner.phys import phy_of
from showplan.planner.positions import positions
from showplan.planner.propagation import Propagation
from showplan.planner.reception import add_powers, busy_share_of, interference_of
from showplan.planner.scene import Network, Scene

# Below this a difference in noise rise is no reason to change a channel.
WORTH_CHANGING_DB = 0.01
# A shift off the usual channel costs this much in the search: only to break ties.
TIE_BREAK_DB = 1e-6
BOUND_SLACK_DB = 1e-9  # rounding of sums must not keep an equal branch open
UNKNOWN_LEVEL_DBM = -60.0  # an occupant whose level nobody measured; from memory: a busy access point in the room


@dataclass(frozen=True)
class Option:
    """One channel for one network: its frequency, the noise rise from the taken spectrum, and by whom."""

    radio_channel: int
    frequency_mhz: float
    noise_rise_db: float
    taken_by: tuple[str, ...]
    limit: str


@dataclass(frozen=True)
class Choice:
    """What a network should take; `noise_rise_db` counts taken spectrum and the other networks."""

    network: str
    radio_channel: int
    frequency_mhz: float
    noise_rise_db: float
    present_channel: int
    present_noise_rise_db: float | None
    reason: str
    options: tuple[Option, ...]

    @property
    def is_kept(self) -> bool:
        """Whether this is the channel that the network has now."""
        return self.radio_channel == self.present_channel


@dataclass(frozen=True)
class ChannelPlan:
    """A channel for each network that can have one; `is_optimal` is true: the search leaves nothing out.

    `without` names networks for which the region lists no channel, with the reason.
    """

    choices: tuple[Choice, ...]
    total_noise_rise_db: float
    is_optimal: bool
    combinations: int
    tried: int
    without: tuple[tuple[str, str], ...]


def channel_plan(scene: Scene, state: HouseState = "empty") -> ChannelPlan:
    """The best radio channels for the networks that have nodes in this venue."""
    networks = [network for network in scene.networks if members(scene, network)]
    options = {network.name: _options(scene, network, state) for network in networks}
    able = [network for network in networks if options[network.name]]
    without = tuple(
        (network.name, f"no radio channel of {network.phy} lies in a band listed for {scene.venue.region}")
        for network in networks
        if not options[network.name]
    )
    coupling = _Coupling.of(scene, able, state)
    search = _Search(able, options, coupling)
    search.run()
    return ChannelPlan(
        choices=tuple(_choice(network, options, search.best, coupling, able) for network in able),
        total_noise_rise_db=search.best_cost_db if able else 0.0,
        is_optimal=True,
        combinations=int(np.prod([len(options[network.name]) for network in able], dtype=object)) if able else 0,
        tried=search.tried,
        without=without,
    )


def _options(scene: Scene, network: Network, state: HouseState) -> tuple[Option, ...]:
    """Every channel of the PHY that lies in a listed band; all of them where the region has no table."""
    phy = phy_of(scene, network.phy)
    rules = reference.region_rules(scene.venue.region)
    found = []
    for channel in phy.radio_channels:
        frequency_mhz = phy.centre_frequency_mhz(channel)
        low, high = frequency_mhz - phy.occupied_bandwidth_mhz / 2, frequency_mhz + phy.occupied_bandwidth_mhz / 2
        covering = [rule for rule in rules if rule.covers(low, high) and rule.is_open_to(phy.occupied_bandwidth_mhz)]
        if rules and not covering:
            continue
        parts = _taken(scene, frequency_mhz, phy.noise_bandwidth_mhz, state)
        noise_dbm = float(thermal_noise_dbm(phy.noise_bandwidth_mhz, 6.0))
        rise_db = (
            float(add_powers_dbm(noise_dbm, add_powers([power for _, power in parts]))) - noise_dbm if parts else 0.0
        )
        limit = max(covering, key=lambda rule: rule.limit_eirp_dbm).citation if covering else "ask the regulator"
        found.append(Option(channel, frequency_mhz, rise_db, tuple(label for label, _ in parts), limit))
    return tuple(found)


def _taken(scene: Scene, frequency_mhz: float, bandwidth_mhz: float, state: HouseState) -> list[tuple[str, float]]:
    """(label, mean power in the band in dBm) of each occupant that overlaps, over the time it is silent too.

    An unmeasured one counts at a usual level.
    """
    found = []
    for other in scene.occupied_spectrum:
        power_dbm = interference_of(other, frequency_mhz, bandwidth_mhz, state)
        share = float(overlap_share(frequency_mhz, bandwidth_mhz, other.centre_mhz, other.bandwidth_mhz))
        if power_dbm is None and share > 0:
            power_dbm = float(interference_after_rejection_dbm(UNKNOWN_LEVEL_DBM, 0.0, share))
        busy = busy_share_of(other, state)
        if power_dbm is not None and busy > 0:
            found.append((other.label, power_dbm + 10 * math.log10(busy)))
    return found


@dataclass(frozen=True)
class _Coupling:
    """For each (sender, hearer) pair of networks the strongest power in dBm that one brings to a node of the other."""

    strongest_dbm: Mapping[tuple[str, str], float]
    noise_dbm: Mapping[str, float]
    width_mhz: Mapping[str, float]

    @classmethod
    def of(cls, scene: Scene, networks: list[Network], state: HouseState) -> "_Coupling":
        noise = {
            network.name: float(thermal_noise_dbm(phy_of(scene, network.phy).noise_bandwidth_mhz, 6.0))
            for network in networks
        }
        pairs = {
            (sender.name, hearer.name): _strongest_dbm(scene, sender, hearer, state)
            for sender in networks
            for hearer in networks
            if sender is not hearer
        }
        widths = {network.name: phy_of(scene, network.phy).occupied_bandwidth_mhz for network in networks}
        return cls(pairs, noise, widths)

    def noise_rise_db(self, hearer: str, sender: str, apart_mhz: float, width_mhz: float) -> float:
        """Noise rise that one network's senders cause in another at this distance of their channels."""
        if apart_mhz >= 100:
            return 0.0  # another band altogether: the receivers' filters keep it out
        power_dbm = self.strongest_dbm[sender, hearer]
        if apart_mhz >= width_mhz:
            power_dbm -= max(float(required_rejection_db(apart_mhz)), 30.0 if apart_mhz >= 2 * width_mhz else 0.0)
        return _rise_db(self.noise_dbm[hearer], power_dbm)


def _rise_db(noise_dbm: float, interference_dbm: float) -> float:
    """Noise rise in whole hundredths of a dB, so that equal choices are equal."""
    return round(float(add_powers_dbm(noise_dbm, interference_dbm)) - noise_dbm, 2)


def _strongest_dbm(scene: Scene, sender: Network, hearer: Network, state: HouseState) -> float:
    frequency_mhz = centre_frequency_mhz(scene, sender)
    sending = [node for node in members(scene, sender) if node.role != "receiver"] or list(members(scene, sender))
    if frequency_mhz is None:
        return float("-inf")
    hearing = members(scene, hearer)
    loss_db = Propagation(scene, frequency_mhz, state).path_loss_db(
        positions(scene, sending).points_m, positions(scene, hearing).points_m
    )
    ends = [end_of(scene, node) for node in sending]
    most_dbm = max(end.node_type.transmit_power_dbm + end.gain_db for end in ends)
    gain_db = max(end_of(scene, node).gain_db for node in hearing)
    return float(most_dbm + gain_db - loss_db.min())


class _Search:
    """Branch and bound over the networks in order; `best` holds the best option found for each.

    `alone[i]` is the cost of each option of network i, `between[i, j]` that of each pair of options of i and j.
    """

    def __init__(self, networks: list[Network], options: Mapping[str, tuple[Option, ...]], coupling: _Coupling) -> None:
        self._networks = networks
        self._options = [options[network.name] for network in networks]
        self._alone = [
            np.array([o.noise_rise_db + TIE_BREAK_DB * (o.radio_channel != network.radio_channel) for o in found])
            for network, found in zip(networks, self._options, strict=True)
        ]
        self._between = {
            (i, j): np.array(
                [
                    [between_db(coupling, networks[i], its, networks[j], others) for others in self._options[j]]
                    for its in self._options[i]
                ]
            )
            for i in range(len(networks))
            for j in range(len(networks))
            if i < j
        }
        self.best: dict[str, Option] = {}
        self.best_cost_db = float("inf")
        self.tried = 0

    def run(self) -> None:
        """Find the optimum."""
        self._extend((), 0.0, self._alone)

    def _extend(self, chosen: tuple[int, ...], cost_db: float, added: list[NDArray[np.float64]]) -> None:
        """Give the next network each of its options. `added[i]`: what each option of network i would add by now."""
        index = len(chosen)
        if index == len(self._networks):
            self.tried += 1
            if cost_db < self.best_cost_db:
                self.best_cost_db = cost_db
                self.best = {n.name: self._options[i][chosen[i]] for i, n in enumerate(self._networks)}
            return
        for option in np.argsort(added[index], kind="stable"):
            cost_now_db = cost_db + float(added[index][option])
            still = [
                added[other] + self._between[index, other][option] if other > index else added[other]
                for other in range(len(self._networks))
            ]
            if cost_now_db + self._at_least_db(index + 1, still) < self.best_cost_db - BOUND_SLACK_DB:
                self._extend((*chosen, int(option)), cost_now_db, still)

    def _at_least_db(self, start: int, added: list[NDArray[np.float64]]) -> float:
        """What the networks from `start` on add at the very least: each its cheapest option, each pair its cheapest."""
        rest = range(start, len(self._networks))
        pairs = sum(float(self._between[i, j].min()) for i in rest for j in rest if i < j)
        return sum(float(added[i].min()) for i in rest) + pairs


def between_db(coupling: _Coupling, one: Network, its: Option, other: Network, others: Option) -> float:
    """Noise rise that two networks cause in each other on these channels."""
    apart_mhz = abs(its.frequency_mhz - others.frequency_mhz)
    width_mhz = (coupling.width_mhz[one.name] + coupling.width_mhz[other.name]) / 2
    return coupling.noise_rise_db(one.name, other.name, apart_mhz, width_mhz) + coupling.noise_rise_db(
        other.name, one.name, apart_mhz, width_mhz
    )


def _choice(
    network: Network,
    options: Mapping[str, tuple[Option, ...]],
    best: Mapping[str, Option],
    coupling: _Coupling,
    networks: list[Network],
) -> Choice:
    def rise_db(option: Option) -> float:
        return option.noise_rise_db + sum(
            between_db(coupling, network, option, other, best[other.name]) for other in networks if other is not network
        )

    chosen = best[network.name]
    present = next((one for one in options[network.name] if one.radio_channel == network.radio_channel), None)
    present_db = rise_db(present) if present is not None else None
    return Choice(
        network=network.name,
        radio_channel=chosen.radio_channel,
        frequency_mhz=chosen.frequency_mhz,
        noise_rise_db=rise_db(chosen),
        present_channel=network.radio_channel,
        present_noise_rise_db=present_db,
        reason=_reason(network, chosen, rise_db(chosen), present, present_db),
        options=options[network.name],
    )


def _reason(network: Network, chosen: Option, rise_db: float, present: Option | None, present_db: float | None) -> str:
    if present is None or present_db is None:
        return (
            f"Radio channel {network.radio_channel} is in no band listed here; {chosen.radio_channel} is the quietest."
        )
    if chosen.radio_channel == network.radio_channel:
        return f"Kept: no other channel is quieter by {WORTH_CHANGING_DB:g} dB or more (noise rise {rise_db:.1f} dB)."
    heard = f", taken by {', '.join(present.taken_by)}" if present.taken_by else ", near another network"
    return (
        f"Radio channel {network.radio_channel} has {present_db:.1f} dB noise rise{heard};"
        f" on {chosen.radio_channel} it is {rise_db:.1f} dB."
    )
