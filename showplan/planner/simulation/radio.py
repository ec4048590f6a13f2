"""A PHY's constants as the simulation takes them."""

import math

from showplan.physics.error_rate import required_bpsk_ebn0_db, required_fsk_ebn0_db, required_sinr_db
from showplan.planner.phys import is_own
from showplan.planner.scene import NodeType
from showplan.planner.scene_traffic import Traffic
from showplan.planner.simulation.inputs import FrameTimes, MediumAccess, Reception, ReceptionRule
from showplan.reference import Phy

# A receiver's sensitivity holds for this share of lost frames of this length (IEEE 802.15.4-2006, 6.1.7).
SENSITIVITY_LOSS, SENSITIVITY_OCTETS = 0.01, 20
# The channel must count as busy from 10 dB above the required sensitivity on, at the latest (from memory).
SENSING_ABOVE_DB = 10.0


def access_of(phy: Phy, traffic: Traffic) -> MediumAccess:
    """Medium access of a network with this PHY."""
    return MediumAccess(
        min_be=traffic.min_be,
        max_be=max(traffic.min_be, traffic.max_be),
        max_backoffs=traffic.max_backoffs,
        retries=traffic.retries,
        unit_backoff_us=phy.backoff_unit_us,
        sensing_us=phy.sensing_us,
        turnaround_us=phy.turnaround_us,
        ack_wait_us=phy.acknowledgement_wait_us,
        short_gap_us=phy.short_gap_us,
        long_gap_us=phy.long_gap_us,
    )


def frame_times_of(phy: Phy) -> FrameTimes:
    """Air time of the PHY's frames."""
    sync_us = phy.shr_symbols * phy.symbol_time_us
    return FrameTimes(octet_us=phy.octet_time_us, header_octets=phy.header_octets, sync_us=sync_us)


def reception_of(phy: Phy) -> Reception:
    """Reception by the PHY's bit error formula; the threshold is the SINR at which its sensitivity is defined.

    A PHY of the crew's own, whose modulation nobody knows, goes by the threshold alone.
    """
    spread_db = _decibels(phy.noise_bandwidth_mhz * 1000 / phy.bit_rate_kbps)
    if phy.key.startswith("oqpsk"):
        needed_db = float(required_sinr_db(SENSITIVITY_LOSS, SENSITIVITY_OCTETS))
        is_2450 = phy.key == "oqpsk-2450"
        return Reception(threshold_db=needed_db, bit_errors="oqpsk-2450" if is_2450 else "oqpsk-sub-ghz")
    if phy.key.startswith("bpsk"):
        needed_db = float(required_bpsk_ebn0_db(SENSITIVITY_LOSS, SENSITIVITY_OCTETS)) - spread_db
        return Reception(threshold_db=needed_db, bit_errors="bpsk", spread_db=spread_db)
    needed_db = float(required_fsk_ebn0_db(SENSITIVITY_LOSS, SENSITIVITY_OCTETS)) - spread_db
    rule: ReceptionRule = "threshold" if is_own(phy) else "error-rate"
    return Reception(rule=rule, threshold_db=needed_db, bit_errors="fsk", spread_db=spread_db)


def noise_dbm(node_type: NodeType, reception: Reception) -> float:
    """The noise with which the formula gives the node type the sensitivity that it has."""
    return node_type.sensitivity_dbm - reception.threshold_db


def _decibels(ratio: float) -> float:
    return 10 * math.log10(ratio)
