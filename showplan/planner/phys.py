"""The PHY of a network or node type: a row of the table, or one of the crew's own, with the same facts."""

from collections.abc import Iterable
from dataclasses import replace

from showplan import reference
from showplan.planner.scene import Scene
from showplan.planner.scene_traffic import OwnPhy

OWN_SOURCE = "entered by the crew"


def phy_of(scene: Scene, key: str) -> reference.Phy:
    """The facts of the PHY with this key. Raises KeyError where neither the table nor the Scene has it."""
    row = reference.phys().get(key)
    return row if row is not None else facts_of(scene.own_phy(key))


def known_phys(own: Iterable[OwnPhy]) -> set[str]:
    """The keys that a network or node type may name."""
    return {*reference.phys(), *(one.key for one in own)}


def is_own(phy: reference.Phy) -> bool:
    """Whether the facts are of a PHY of the crew's own."""
    return phy.source == OWN_SOURCE


def facts_of(own: OwnPhy) -> reference.Phy:
    """A PHY of the crew's own as the table states its rows: one bit a symbol, waits as the standard builds them."""
    return replace(
        next(iter(reference.phys().values())),
        key=own.key,
        name=own.key,
        band_low_mhz=own.band_low_mhz,
        band_high_mhz=own.band_high_mhz,
        first_channel=own.first_channel,
        last_channel=own.last_channel,
        first_centre_mhz=own.first_centre_mhz,
        spacing_mhz=own.spacing_mhz,
        occupied_bandwidth_mhz=own.bandwidth_mhz,
        noise_bandwidth_mhz=own.bandwidth_mhz,
        bit_rate_kbps=own.bit_rate_kbps,
        chip_rate_kcps=own.bit_rate_kbps,
        symbol_time_us=1000 / own.bit_rate_kbps,
        bits_per_symbol=1.0,
        shr_symbols=8 * own.header_octets,
        phr_symbols=0.0,
        longest_frame_octets=float(own.longest_frame_octets),
        turnaround_us=own.turnaround_us,
        sensing_us=own.sensing_us,
        backoff_unit_us=own.turnaround_us + own.sensing_us,
        short_gap_us=own.frame_gap_us,
        long_gap_us=own.frame_gap_us,
        required_sensitivity_dbm=own.sensitivity_dbm,
        source=OWN_SOURCE,
        standing="derived",
        note="",
    )
