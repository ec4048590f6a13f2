"""The tables on batteries, loads and carriage as headed rows of text."""

from collections.abc import Iterable
from typing import Any

from frontend.present.headed_rows import Table, headed, provenance
from frontend.present.power_tables import NONE, with_unit
from frontend.present.words import number


def battery_chemistries(rows: Iterable[Any]) -> Table:
    """Cells by chemistry."""
    return headed(
        "battery-chemistries",
        "Battery chemistries",
        "Volts of a cell; Peukert's exponent, and its range; the planner takes the health where none is entered.",
        (
            "chemistry",
            "nominal",
            "empty",
            "full",
            "Peukert",
            "resistance of a cell",
            "health",
            "charge factor",
            "charge at",
            "discharge at",
        ),
        (
            (
                row.name,
                with_unit(row.nominal_v, "V"),
                with_unit(row.cut_off_v, "V"),
                with_unit(row.full_v, "V"),
                f"{row.peukert:g} ({row.peukert_low:g} to {row.peukert_high:g})",
                with_unit(1000 * row.ohm_per_cell, "mΩ"),
                with_unit(100 * row.health_share, "%"),
                f"{row.charge_factor:g}",
                _celsius(row.charge_from_c, row.charge_to_c),
                _celsius(row.discharge_from_c, row.discharge_to_c),
                *provenance(row),
            )
            for row in rows
        ),
    )


def battery_temperatures(rows: Iterable[Any]) -> Table:
    """Capacity in the cold."""
    return headed(
        "battery-temperatures",
        "Batteries in the cold",
        "Share of the capacity at 25 °C; where sources differ the lower counts.",
        ("chemistry", "figures", "temperature", "capacity"),
        (
            (
                row.chemistry,
                row.series,
                with_unit(row.battery_c, "°C"),
                with_unit(100 * row.share, "%"),
                *provenance(row),
            )
            for row in rows
        ),
    )


def battery_presets(rows: Iterable[Any]) -> Table:
    """Common packs."""
    return headed(
        "battery-presets",
        "Common packs",
        "Where the label of yours differs, enter that.",
        ("pack", "cells", "nominal", "capacity", "resistance"),
        (
            (
                row.name,
                str(row.cells),
                with_unit(row.nominal_v, "V"),
                f"{row.capacity_ah:g} Ah at {row.rated_hours:g} h",
                with_unit(1000 * row.internal_resistance_ohm, "mΩ"),
                *provenance(row),
            )
            for row in rows
        ),
    )


def load_presets(rows: Iterable[Any]) -> Table:
    """Common loads."""
    return headed(
        "load-presets",
        "Common loads",
        "Tape with everything on; its resistance is assumed until you measure it.",
        ("load", "behaves as", "volts", "power", "dark below", "resistance", "cold inrush"),
        (
            (
                row.name,
                row.behaviour.replace("-", " "),
                with_unit(row.rated_v, "V"),
                with_unit(row.rated_w, "W") if row.w_per_m is None else with_unit(row.w_per_m, "W/m"),
                with_unit(row.dropout_v, "V"),
                with_unit(row.tape_ohm_per_m, "Ω/m"),
                with_unit(row.cold_inrush_times, "times"),
                *provenance(row),
            )
            for row in rows
        ),
    )


def carriage_rules(rows: Iterable[Any]) -> Table:
    """Batteries by air."""
    return headed(
        "carriage-rules",
        "Batteries by air",
        "A dated summary for passengers: check the airline and the current dangerous-goods rules.",
        ("battery", "in devices", "spare", "approval"),
        (
            (
                row.name,
                _how_many(row.most_devices, row.device),
                _how_many(row.most_spares, row.spare),
                "of the airline" if row.needs_approval else NONE,
                *provenance(row),
            )
            for row in rows
        ),
    )


def _how_many(most: int | None, where: str) -> str:
    return f"at most {most}: {where}" if most else where


def _celsius(low: float, high: float) -> str:
    return f"{number(low)} to {number(high)} °C"
