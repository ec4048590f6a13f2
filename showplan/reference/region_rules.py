"""Dated summary of regional radio limits. The region's regulator decides; this is a planning aid."""

import math
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Final, Literal, get_args

from showplan.reference.regions import regions
from showplan.reference.standing import Standing
from showplan.reference.table import DATA_FOLDER, Row, pick, read_table

LimitKind = Literal["eirp", "erp", "conducted"]
ERP_TO_EIRP_DB: Final = 2.15  # dB, gain of a half-wave dipole over an isotropic antenna; from memory
_EDGE_MHZ: Final = 1e-6  # MHz, rounding allowance at a band edge (868.3 - 0.3 against 868.0)
_CONDITIONS: Final = (
    "duty_percent",
    "dwell_s",
    "dwell_window_s",
    "min_hop_channels",
    "min_bandwidth_khz",
    "max_bandwidth_khz",
    "sense_dbm",
    "sense_us",
)
_COLUMNS: Final = (
    "region",
    "low_mhz",
    "high_mhz",
    "limit_dbm",
    "limit_kind",
    "max_antenna_gain_dbi",
    "density_dbm",
    "density_bandwidth_khz",
    *_CONDITIONS,
    "access",
    "citation",
)


@dataclass(frozen=True, slots=True)
class RegionRule:
    """One way to use a band in a region: power limit and conditions, with citation and date.

    `density_dbm` is the most power, of the same kind as `limit_dbm`, in any `density_bandwidth_khz`. At most `dwell_s`
    of sending in any `dwell_window_s`, on one radio channel. With `min_hop_channels` the rule is for kit that hops over
    so many. Before it sends, kit must find less than `sense_dbm` for `sense_us`.
    """

    region: str
    low_mhz: float
    high_mhz: float
    limit_dbm: float
    limit_kind: LimitKind
    max_antenna_gain_dbi: float | None
    density_dbm: float | None
    density_bandwidth_khz: float | None
    duty_percent: float | None
    dwell_s: float | None
    dwell_window_s: float | None
    min_hop_channels: float | None
    min_bandwidth_khz: float | None
    max_bandwidth_khz: float | None
    sense_dbm: float | None
    sense_us: float | None
    access: str
    citation: str
    source: str
    as_of: str
    standing: Standing
    note: str

    @property
    def limit_eirp_dbm(self) -> float:
        """The limit as EIRP in dBm: ERP + 2.15 dB; conducted + the largest antenna gain."""
        return self.limit_dbm + self._eirp_offset_db

    def limit_eirp_in_bandwidth_dbm(self, occupied_bandwidth_mhz: float) -> float:
        """EIRP limit in dBm for a flat spectrum this wide, with the density limit applied."""
        if self.density_dbm is None or self.density_bandwidth_khz is None:
            return self.limit_eirp_dbm
        spread_db = 10 * math.log10(occupied_bandwidth_mhz * 1000 / self.density_bandwidth_khz)
        return min(self.limit_dbm, self.density_dbm + spread_db) + self._eirp_offset_db

    def limit_conducted_dbm(self, antenna_gain_dbi: float) -> float:
        """Most conducted power in dBm with this antenna; density limits left aside.

        A conducted limit falls dB for dB above its largest antenna gain and does not rise below it.
        """
        if self.limit_kind == "conducted":
            return self.limit_dbm - max(0.0, antenna_gain_dbi - self._eirp_offset_db)
        return self.limit_eirp_dbm - antenna_gain_dbi

    def covers(self, low_mhz: float, high_mhz: float) -> bool:
        """True if the whole of low_mhz to high_mhz lies in this rule's band."""
        return self.low_mhz - _EDGE_MHZ <= low_mhz and high_mhz <= self.high_mhz + _EDGE_MHZ

    def is_open_to(self, occupied_bandwidth_mhz: float) -> bool:
        """True if a network this wide that stays on one radio channel may use this rule."""
        width_khz = occupied_bandwidth_mhz * 1000
        narrowest_khz, widest_khz = self.min_bandwidth_khz or 0.0, self.max_bandwidth_khz or math.inf
        return self.min_hop_channels is None and narrowest_khz <= width_khz <= widest_khz

    @property
    def sending_share(self) -> float:
        """Largest share of the time, 0 to 1, in which one radio channel may be sent on: duty and dwell together."""
        duty = 1.0 if self.duty_percent is None else self.duty_percent / 100
        if self.dwell_s is None or self.dwell_window_s is None:
            return duty
        return min(duty, self.dwell_s / self.dwell_window_s)

    @property
    def _eirp_offset_db(self) -> float:
        if self.limit_kind == "erp":
            return ERP_TO_EIRP_DB
        return (self.max_antenna_gain_dbi or 0.0) if self.limit_kind == "conducted" else 0.0


def load_region_rules(path: Path) -> tuple[RegionRule, ...]:
    """Rules of the table at `path` in table order; raises ReferenceTableError."""
    return tuple(_rule(row) for row in read_table(path, _COLUMNS))


def _rule(row: Row) -> RegionRule:
    rule = RegionRule(
        region=row.choice("region", regions()),
        low_mhz=row.number("low_mhz"),
        high_mhz=row.number("high_mhz"),
        limit_dbm=row.number("limit_dbm"),
        limit_kind=row.choice("limit_kind", get_args(LimitKind)),
        max_antenna_gain_dbi=row.optional_number("max_antenna_gain_dbi"),
        density_dbm=row.optional_number("density_dbm"),
        density_bandwidth_khz=row.optional_number("density_bandwidth_khz"),
        **{column: row.optional_number(column) for column in _CONDITIONS},
        access=row.optional_text("access"),
        citation=row.text("citation"),
        source=row.text("source"),
        as_of=row.as_of,
        standing=row.standing,
        note=row.optional_text("note"),
    )
    if rule.low_mhz >= rule.high_mhz:
        row.fail("high_mhz", f"{rule.high_mhz:g} must be above low_mhz {rule.low_mhz:g}")
    if (rule.limit_kind == "conducted") != (rule.max_antenna_gain_dbi is not None):
        row.fail("max_antenna_gain_dbi", "belongs to each conducted limit and to no other")
    if (rule.density_dbm is None) != (rule.density_bandwidth_khz is None):
        row.fail("density_bandwidth_khz", "stands together with density_dbm or not at all")
    _check_times(row, rule)
    return rule


def _check_times(row: Row, rule: RegionRule) -> None:
    if (rule.dwell_s is None) != (rule.dwell_window_s is None):
        row.fail("dwell_window_s", "stands together with dwell_s or not at all")
    if rule.dwell_s is not None and rule.dwell_window_s is not None and not 0 < rule.dwell_s <= rule.dwell_window_s:
        row.fail("dwell_s", f"{rule.dwell_s:g} must be above 0 and at most dwell_window_s {rule.dwell_window_s:g}")
    if (rule.sense_dbm is None) != (rule.sense_us is None):
        row.fail("sense_us", "stands together with sense_dbm or not at all")
    if rule.duty_percent is not None and not 0 < rule.duty_percent <= 100:
        row.fail("duty_percent", f"{rule.duty_percent:g} must be above 0 and at most 100")


@cache
def _all_rules() -> tuple[RegionRule, ...]:
    return load_region_rules(DATA_FOLDER / "region_rules.csv")


def region_rules(region_key: str) -> tuple[RegionRule, ...]:
    """Rules of a region, in table order; empty for `other`. Raises UnknownKey."""
    pick(regions(), region_key, "region")
    return tuple(rule for rule in _all_rules() if rule.region == region_key)
