"""From received power to what a receiver makes of it: noise rise by other radio, margin, probability, packet error."""

import math
from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from showplan import reference
from showplan.physics.decibels import add_powers_dbm
from showplan.physics.error_rate import (
    bpsk_bit_error_rate,
    fsk_bit_error_rate,
    oqpsk_bit_error_rate,
    packet_error_rate,
    sub_ghz_oqpsk_bit_error_rate,
)
from showplan.physics.fading import availability
from showplan.physics.interference import interference_after_rejection_dbm, overlap_share
from showplan.physics.noise import thermal_noise_dbm
from showplan.physics.shadowing import lognormal_availability
from showplan.planner.obstacles import HouseState
from showplan.planner.phys import phy_of
from showplan.planner.scene import NodeType, OccupiedSpectrum, Scene

Floats = NDArray[np.float64]
# A show's usual packet: 60 octets of PSDU (the length that the air-time tables take as typical).
PACKET_OCTETS = 60
# Radio that sends this share of the time or more counts as always there. Common practice, no source.
STEADY_SHARE = 0.5


@dataclass(frozen=True)
class Surroundings:
    """What a receiver of one network hears besides it, and how power strays.

    Radio that sends half the time or more is `steady_dbm`: it lifts what every packet needs. Radio in bursts,
    `burst_dbm`, meets a packet with the probability `burst_share`. Both are sums over the receiver's band.
    """

    frequency_mhz: float
    phy: reference.Phy
    steady_dbm: float
    burst_dbm: float
    burst_share: float
    shadowing_sigma_db: float

    @property
    def bandwidth_mhz(self) -> float:
        """Width of what a receiver hears."""
        return self.phy.noise_bandwidth_mhz

    def noise_rise_db(self, node_type: NodeType) -> float:
        """By how much steady interference lifts what this receiver needs; 0 where there is none."""
        return self._rise_db(node_type, self.steady_dbm)

    def needed_dbm(self, node_type: NodeType) -> float:
        """Mean received power at which the receiver just works here, between bursts."""
        return node_type.sensitivity_dbm + self.noise_rise_db(node_type)

    def probability(self, margin_db: Floats, node_type: NodeType, *, moves: bool) -> Floats:
        """Probability that a link with this mean margin between bursts closes, at any moment.

        Rayleigh fading comes on top of the shadowing where an end moves.
        """
        between = self._closes(margin_db, moves=moves)
        if self.burst_share == 0:
            return between
        lift_db = self._rise_db(node_type, add_powers([self.steady_dbm, self.burst_dbm])) - self.noise_rise_db(
            node_type
        )
        within = self._closes(margin_db - lift_db, moves=moves)
        return (1 - self.burst_share) * between + self.burst_share * within

    def _closes(self, margin_db: Floats, *, moves: bool) -> Floats:
        if moves:
            return np.asarray(availability(margin_db, self.shadowing_sigma_db))
        return np.asarray(lognormal_availability(margin_db, self.shadowing_sigma_db))

    def _rise_db(self, node_type: NodeType, interference_dbm: float) -> float:
        noise_dbm = self._noise_dbm(node_type)
        return float(add_powers_dbm(noise_dbm, interference_dbm)) - noise_dbm

    def packet_error(self, received_dbm: Floats, node_type: NodeType) -> Floats:
        """Packet error at this received power for PACKET_OCTETS in noise and steady radio; no fading, no bursts."""
        total_dbm = float(add_powers_dbm(self._noise_dbm(node_type), self.steady_dbm))
        sinr_db = received_dbm - total_dbm
        match node_type.phy:
            case "oqpsk-2450":
                errors = oqpsk_bit_error_rate(sinr_db)
            case "oqpsk-868" | "oqpsk-915":
                errors = sub_ghz_oqpsk_bit_error_rate(sinr_db)
            case "bpsk-868" | "bpsk-915":
                spread_db = 10 * np.log10(self.bandwidth_mhz * 1000 / self.phy.bit_rate_kbps)
                errors = bpsk_bit_error_rate(sinr_db + spread_db)
            case _:
                spread_db = 10 * np.log10(self.bandwidth_mhz * 1000 / self.phy.bit_rate_kbps)
                errors = fsk_bit_error_rate(sinr_db + spread_db)
        return np.asarray(packet_error_rate(errors, PACKET_OCTETS))

    def _noise_dbm(self, node_type: NodeType) -> float:
        return float(thermal_noise_dbm(self.bandwidth_mhz, node_type.noise_figure_db))


def surroundings_of(scene: Scene, phy_key: str, frequency_mhz: float, state: HouseState) -> Surroundings:
    """The surroundings of a network in one state of the house."""
    phy = phy_of(scene, phy_key)
    bandwidth_mhz = phy.noise_bandwidth_mhz
    steady, bursts, quiet_share = [], [], 1.0
    for other in scene.occupied_spectrum:
        level_dbm = interference_of(other, frequency_mhz, bandwidth_mhz, state)
        share = busy_share_of(other, state)
        if level_dbm is None or share == 0:
            continue
        if share >= STEADY_SHARE:
            steady.append(level_dbm)
        else:
            bursts.append(level_dbm)
            quiet_share *= 1 - share
    sigma_db = shadowing_sigma_db(scene)
    return Surroundings(frequency_mhz, phy, add_powers(steady), add_powers(bursts), 1 - quiet_share, sigma_db)


def shadowing_sigma_db(scene: Scene) -> float:
    """Spread in dB of what is received about the forecast: the calibration's, else that of the environment."""
    calibration = scene.venue.calibration
    if calibration is not None:
        return calibration.shadowing_sigma_db
    return reference.environments()[scene.venue.environment].shadowing_sigma_db


def interference_of(
    other: OccupiedSpectrum, frequency_mhz: float, bandwidth_mhz: float, state: HouseState
) -> float | None:
    """Power in dBm of an occupant that falls into a receiver's band; None where none does or its level is unknown."""
    level_dbm = other.received_dbm
    if state == "full" and other.full_house_dbm is not None:
        level_dbm = other.full_house_dbm
    share = float(overlap_share(frequency_mhz, bandwidth_mhz, other.centre_mhz, other.bandwidth_mhz))
    if level_dbm is None or share <= 0:
        return None
    return float(interference_after_rejection_dbm(level_dbm, 0.0, share))


def busy_share_of(other: OccupiedSpectrum, state: HouseState) -> float:
    """Share of the time in which an occupant sends."""
    if state == "full" and other.full_house_busy_share is not None:
        return other.full_house_busy_share
    return other.busy_share


def add_powers(powers_dbm: Iterable[float]) -> float:
    """Sum of powers in dBm; minus infinity for none."""
    total_mw = sum(10 ** (power_dbm / 10) for power_dbm in powers_dbm)
    return 10 * math.log10(total_mw) if total_mw > 0 else float("-inf")
