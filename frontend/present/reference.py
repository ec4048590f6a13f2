"""The dated reference tables as headed rows of text."""

from collections.abc import Iterable, Mapping
from typing import Any, Final

from frontend.present import battery_tables, power_tables
from frontend.present.headed_rows import Table, headed, provenance, span
from frontend.present.indoor_tables import alpha_beta_gamma, crowds, floor_losses, power_losses, shadowing
from frontend.present.words import number
from showplan.services.knowledge import reference_tables

# functions by the names of their tables
_OF_POWER: Final = (
    power_tables.wires,
    power_tables.awg_wires,
    power_tables.ambient_factors,
    power_tables.grouping_factors,
    power_tables.fuse_series,
    power_tables.fuse_gates,
    power_tables.fuse_breaking,
    power_tables.pulse_life,
    power_tables.switch_examples,
    power_tables.voltage_limits,
    power_tables.touch_limits,
    power_tables.flicker_limits,
    battery_tables.battery_chemistries,
    battery_tables.battery_temperatures,
    battery_tables.battery_presets,
    battery_tables.load_presets,
    battery_tables.carriage_rules,
)


def reference_page() -> dict[str, Any]:
    """All tables, in the order in which a crew meets them."""
    tables = reference_tables()
    return {
        "tables": [
            _regions(tables["regions"].values()),
            _rules(tables["regions"], tables["region_rules"]),
            _phys(tables["phys"].values()),
            _materials(tables["materials"].values()),
            _environments(tables["environments"].values()),
            _body_losses(tables["body_losses"]),
            crowds(tables["crowds"]),
            power_losses(tables["indoor_power_losses"]),
            floor_losses(tables["indoor_floor_losses"]),
            alpha_beta_gamma(tables["indoor_alpha_beta_gamma"].values()),
            shadowing(tables["indoor_shadowing"]),
            *(present(_rows(tables[present.__name__])) for present in _OF_POWER),
        ]
    }


def _rows(table: Any) -> Iterable[Any]:
    return table.values() if isinstance(table, Mapping) else table


def _regions(rows: Iterable[Any]) -> Table:
    return headed(
        "regions",
        "Regions",
        "Whom to ask. The regulator decides, not this table.",
        ("region", "regulator"),
        ((row.name, row.regulator, *provenance(row)) for row in rows),
    )


def _rules(regions: Any, rules: Any) -> Table:
    return headed(
        "region-rules",
        "Radio limits by region",
        "A dated summary of ways to use a band without a licence of one's own; a duty or dwell is the longest time of"
        " sending on one radio channel.",
        ("region", "MHz", "limit", "duty", "dwell", "least hop channels", "listens first", "conditions", "citation"),
        (
            (
                regions[key].name,
                f"{rule.low_mhz:g} to {rule.high_mhz:g}",
                f"{number(rule.limit_dbm)} dBm {'ERP' if rule.limit_kind == 'erp' else _kind(rule.limit_kind)}",
                "–" if rule.duty_percent is None else f"{rule.duty_percent:g} %",
                "–" if rule.dwell_s is None else f"{rule.dwell_s:g} s in {rule.dwell_window_s:g} s",
                "–" if rule.min_hop_channels is None else f"{rule.min_hop_channels:g}",
                "–" if rule.sense_dbm is None else f"{number(rule.sense_dbm)} dBm, {rule.sense_us:g} µs",
                _conditions(rule),
                rule.citation,
                *provenance(rule),
            )
            for key, ways in rules.items()
            for rule in ways
        ),
    )


def _kind(kind: str) -> str:
    return "EIRP" if kind == "eirp" else kind


def _conditions(rule: Any) -> str:
    parts = []
    if rule.max_antenna_gain_dbi is not None:
        parts.append(f"antenna gain above {rule.max_antenna_gain_dbi:g} dBi lowers the limit")
    if rule.density_dbm is not None:
        parts.append(f"{number(rule.density_dbm)} dBm in {rule.density_bandwidth_khz:g} kHz")
    if rule.min_bandwidth_khz is not None:
        parts.append(f"at least {rule.min_bandwidth_khz:g} kHz wide")
    if rule.max_bandwidth_khz is not None:
        parts.append(f"at most {rule.max_bandwidth_khz:g} kHz wide")
    if rule.access:
        parts.append(rule.access)
    return "; ".join(parts) or "–"


def _phys(rows: Iterable[Any]) -> Table:
    return headed(
        "phys",
        "PHYs of IEEE 802.15.4",
        "What a node type's radio can be.",
        ("PHY", "radio channels", "centre, MHz", "width, MHz", "kbit/s", "required sensitivity"),
        (
            (
                row.name,
                span(row.first_channel, row.last_channel),
                span(row.centre_frequency_mhz(row.first_channel), row.centre_frequency_mhz(row.last_channel)),
                f"{row.occupied_bandwidth_mhz:g}",
                f"{row.bit_rate_kbps:g}",
                f"{number(row.required_sensitivity_dbm)} dBm",
                *provenance(row),
            )
            for row in rows
        ),
    )


def _materials(rows: Iterable[Any]) -> Table:
    return headed(
        "materials",
        "Loss through walls",
        "One crossing at right angles.",
        ("material", "loss"),
        (
            (
                row.name,
                ", ".join(f"{loss.loss_db:.1f} dB at {loss.frequency_mhz:g} MHz" for loss in row.losses),
                *_with_band_notes(row),
            )
            for row in rows
        ),
    )


def _with_band_notes(row: Any) -> tuple[str, str, str]:
    source, date, standing = provenance(row)
    notes = {f"{loss.frequency_mhz:g} MHz: {loss.note}" for loss in row.losses if loss.note}
    return (f"{source} ({'; '.join(sorted(notes))})" if notes else source), date, standing


def _environments(rows: Iterable[Any]) -> Table:
    return headed(
        "environments",
        "Environments",
        "Where a venue starts from before a walk test.",
        ("environment", "path-loss exponent", "shadowing"),
        ((row.name, f"{row.path_loss_exponent:g}", f"{row.shadowing_sigma_db:g} dB", *provenance(row)) for row in rows),
    )


def _body_losses(rows: Iterable[Any]) -> Table:
    return headed(
        "body-loss",
        "Loss of a worn node",
        "By band and by how the body stands in the link.",
        ("MHz", "body", "loss"),
        (
            (f"{row.band_low_mhz:g} to {row.band_high_mhz:g}", row.posture, f"{row.loss_db:g} dB", *provenance(row))
            for row in rows
        ),
    )
