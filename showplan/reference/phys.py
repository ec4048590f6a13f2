"""IEEE 802.15.4 PHYs: bands, radio channels, rates, required sensitivity."""

import math
from collections.abc import Mapping
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Final

from showplan.reference.standing import Standing, UnknownRadioChannel
from showplan.reference.table import DATA_FOLDER, Row, by_key, read_table

_NUMBERS: Final = (
    "band_low_mhz",
    "band_high_mhz",
    "first_centre_mhz",
    "spacing_mhz",
    "occupied_bandwidth_mhz",
    "noise_bandwidth_mhz",
    "bit_rate_kbps",
    "chip_rate_kcps",
    "symbol_time_us",
    "bits_per_symbol",
    "shr_symbols",
    "phr_symbols",
    "longest_frame_octets",
    "turnaround_us",
    "sensing_us",
    "backoff_unit_us",
    "short_gap_us",
    "long_gap_us",
    "required_sensitivity_dbm",
)
ACKNOWLEDGEMENT_OCTETS: Final = 5  # of its MAC frame
_COLUMNS: Final = ("key", "name", "first_channel", "last_channel", *_NUMBERS)


@dataclass(frozen=True, slots=True)
class Phy:
    """One PHY. `shr_symbols` is the synchronisation header, `phr_symbols` the PHY header.

    `longest_frame_octets` counts the MAC frame, check sum included. A radio turns from hearing to sending in
    `turnaround_us` and listens for `sensing_us` before it sends; it waits whole `backoff_unit_us`, and leaves
    `short_gap_us` after a short frame, `long_gap_us` after others.
    """

    key: str
    name: str
    band_low_mhz: float
    band_high_mhz: float
    first_channel: int
    last_channel: int
    first_centre_mhz: float
    spacing_mhz: float
    occupied_bandwidth_mhz: float
    noise_bandwidth_mhz: float
    bit_rate_kbps: float
    chip_rate_kcps: float
    symbol_time_us: float
    bits_per_symbol: float
    shr_symbols: float
    phr_symbols: float
    longest_frame_octets: float
    turnaround_us: float
    sensing_us: float
    backoff_unit_us: float
    short_gap_us: float
    long_gap_us: float
    required_sensitivity_dbm: float
    source: str
    standing: Standing
    note: str

    @property
    def radio_channels(self) -> range:
        """The allowed radio channels."""
        return range(self.first_channel, self.last_channel + 1)

    @property
    def octet_time_us(self) -> float:
        """Air time of one octet in microseconds."""
        return self.symbol_time_us * 8 / self.bits_per_symbol

    @property
    def header_octets(self) -> float:
        """Octets' worth of preamble, start of frame and PHY header at the bit rate of the rest."""
        return (self.shr_symbols + self.phr_symbols) * self.symbol_time_us / self.octet_time_us

    @property
    def longest_frame_ms(self) -> float:
        """Air time of the longest frame in milliseconds, both headers included."""
        return (self.header_octets + self.longest_frame_octets) * self.octet_time_us / 1000

    @property
    def acknowledgement_wait_us(self) -> float:
        """How long a sender waits for an acknowledgement: a backoff unit, a turnaround, the headers of a frame."""
        header_symbols = self.shr_symbols + math.ceil(6 * 8 / self.bits_per_symbol)
        return self.backoff_unit_us + self.turnaround_us + header_symbols * self.symbol_time_us

    def centre_frequency_mhz(self, radio_channel: int) -> float:
        """Centre frequency in MHz; raises UnknownRadioChannel, which names the allowed ones."""
        if radio_channel not in self.radio_channels:
            allowed = f"{self.first_channel} to {self.last_channel}"
            if self.first_channel == self.last_channel:
                allowed = f"only {self.first_channel}"
            raise UnknownRadioChannel(f"{self.key} has no radio channel {radio_channel!r}; allowed: {allowed}")
        return self.first_centre_mhz + self.spacing_mhz * (radio_channel - self.first_channel)


def load_phys(path: Path) -> Mapping[str, Phy]:
    """PHYs of the table at `path` by key; raises ReferenceTableError."""
    return by_key(read_table(path, _COLUMNS), _phy)


def _phy(row: Row) -> Phy:
    return Phy(
        key=row.text("key"),
        name=row.text("name"),
        first_channel=row.whole_number("first_channel"),
        last_channel=row.whole_number("last_channel"),
        source=row.text("source"),
        standing=row.standing,
        note=row.optional_text("note"),
        **{column: row.number(column) for column in _NUMBERS},
    )


@cache
def phys() -> Mapping[str, Phy]:
    """Every PHY by key, read once per process."""
    return load_phys(DATA_FOLDER / "phys.csv")
