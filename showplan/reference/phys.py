"""IEEE 802.15.4 PHYs: bands, radio channels, rates, required sensitivity."""

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
    "required_sensitivity_dbm",
)
LONGEST_FRAME_OCTETS: Final = 127  # octets that follow the PHY header; IEEE 802.15.4, from memory
_COLUMNS: Final = ("key", "name", "first_channel", "last_channel", *_NUMBERS)


@dataclass(frozen=True, slots=True)
class Phy:
    """One PHY. `shr_symbols` is the synchronisation header, `phr_symbols` the PHY header."""

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
    def longest_frame_ms(self) -> float:
        """Air time of the longest frame in milliseconds, both headers included."""
        headers_us = (self.shr_symbols + self.phr_symbols) * self.symbol_time_us
        return (headers_us + LONGEST_FRAME_OCTETS * self.octet_time_us) / 1000

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
