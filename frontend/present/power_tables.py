"""The tables on wires, fuses and switches as headed rows of text."""

from collections.abc import Iterable
from typing import Any

from frontend.present.headed_rows import Table, headed, provenance, span
from frontend.present.words import number

NONE = "–"
NO_BREAK = "\N{NO-BREAK SPACE}"


def with_unit(value: float | None, unit: str) -> str:
    """A figure and its unit on one line; a dash where there is none."""
    return NONE if value is None else f"{number(value)}{NO_BREAK}{unit}"


def wires(rows: Iterable[Any]) -> Table:
    """Flexible copper wires."""
    return headed(
        "wires",
        "Wires",
        "Flexible copper at 20 °C, and a two-core cord by itself at 30 °C.",
        ("area", "plain", "tinned", "current", "holds", "between"),
        (
            (
                with_unit(row.area_mm2, "mm²"),
                with_unit(row.plain_ohm_per_km, "Ω/km"),
                with_unit(row.tinned_ohm_per_km, "Ω/km"),
                with_unit(row.cord_a, "A"),
                with_unit(row.holds_kg, "kg"),
                f"{row.awg_below} and {row.awg_above} AWG",
                *provenance(row),
            )
            for row in rows
        ),
    )


def awg_wires(rows: Iterable[Any]) -> Table:
    """American wire gauges."""
    return headed(
        "awg-wires",
        "American wire gauges",
        "Stranded copper at 75 °C; the cord column counts, the other two are for information.",
        ("AWG", "resistance", "cord", "chassis wiring", "long bundled runs"),
        (
            (
                str(row.awg),
                with_unit(row.stranded_ohm_per_kft, "Ω/kft"),
                with_unit(row.cord_a, "A"),
                with_unit(row.chassis_a, "A"),
                with_unit(row.transmission_a, "A"),
                *provenance(row),
            )
            for row in rows
        ),
    )


def ambient_factors(rows: Iterable[Any]) -> Table:
    """What warm air takes of a cord's current."""
    return headed(
        "ambient-factors",
        "Cords in warm air",
        "Share of its current that a cord for 60 °C may carry.",
        ("air", "factor"),
        ((with_unit(row.ambient_c, "°C"), f"{row.factor:g}", *provenance(row)) for row in rows),
    )


def grouping_factors(rows: Iterable[Any]) -> Table:
    """What a bundle takes of a cord's current."""
    return headed(
        "grouping-factors",
        "Cords in a bundle",
        "Share of its current that each of the loaded cables may carry.",
        ("cables", "factor"),
        ((str(row.cables), f"{row.factor:g}", *provenance(row)) for row in rows),
    )


def fuse_series(rows: Iterable[Any]) -> Table:
    """Ratings by class."""
    return headed(
        "fuse-series",
        "Fuses",
        "What each class carries for long, and where it surely opens. Volts for AC promise nothing for DC.",
        ("class", "ratings", "carries", "opens at", "volts"),
        (
            (
                row.name,
                ", ".join(f"{rating:g}" for rating in row.ratings_a) + " A",
                with_unit(100 * row.continuous_share, "%"),
                with_unit(100 * row.opens_times, "%"),
                ", ".join(f"{volts:g}" for volts in row.volts),
                *provenance(row),
            )
            for row in rows
        ),
    )


def fuse_gates(rows: Iterable[Any]) -> Table:
    """Opening times."""
    return headed(
        "fuse-gates",
        "Opening times of fuses",
        "At so much of its rating.",
        ("class", "current", "holds for", "open after"),
        (
            (
                row.fuse_class,
                with_unit(100 * row.times_rating, "%"),
                with_unit(row.least_s, "s"),
                with_unit(row.most_s, "s"),
                *provenance(row),
            )
            for row in rows
        ),
    )


def fuse_breaking(rows: Iterable[Any]) -> Table:
    """Breaking capacity."""
    return headed(
        "fuse-breaking",
        "What fuses can break",
        "More than a battery pushes into a short circuit is needed.",
        ("fuse", "breaks"),
        (
            (
                row.name,
                with_unit(row.breaks_a, "A")
                + (f" or {row.breaks_times:g} times its rating" if row.breaks_times else ""),
                *provenance(row),
            )
            for row in rows
        ),
    )


def pulse_life(rows: Iterable[Any]) -> Table:
    """Pulses that a fuse bears."""
    return headed(
        "pulse-life",
        "Pulses that a fuse bears",
        "Share of its nominal melting I²t, pulses 10 s and more apart.",
        ("pulses", "share"),
        ((f"{row.pulses:,}".replace(",", " "), with_unit(100 * row.share, "%"), *provenance(row)) for row in rows),
    )


def switch_examples(rows: Iterable[Any]) -> Table:
    """Rows of data sheets."""
    return headed(
        "switch-examples",
        "Resistance of switches by drive voltage",
        "Examples: take the row of your part at or below the real drive voltage. Without one it is not fully on.",
        ("part", "drive", "typical", "at most", "threshold, at most"),
        (
            (
                row.part,
                with_unit(row.drive_v, "V"),
                with_unit(row.typical_mohm, "mΩ"),
                with_unit(row.largest_mohm, "mΩ"),
                with_unit(row.threshold_v, "V"),
                *provenance(row),
            )
            for row in rows
        ),
    )


def voltage_limits(rows: Iterable[Any]) -> Table:
    """Extra-low voltage."""
    return headed(
        "voltage-limits",
        "Limits of voltage",
        "A summary: the local code and a competent person decide. Sweat counts as wet.",
        ("kind", "DC", "AC", "power"),
        (
            (
                row.name,
                with_unit(row.direct_v, "V"),
                with_unit(row.alternating_v, "V"),
                with_unit(row.most_w, "VA"),
                *provenance(row),
            )
            for row in rows
        ),
    )


def touch_limits(rows: Iterable[Any]) -> Table:
    """Warm surfaces."""
    return headed(
        "touch-limits",
        "Warm surfaces",
        "Worn against skin for a scene or more: at most 43 °C in the warmest air, less for large areas.",
        ("surface", "time", "temperature"),
        ((row.surface, with_unit(row.seconds, "s"), with_unit(row.surface_c, "°C"), *provenance(row)) for row in rows),
    )


def flicker_limits(rows: Iterable[Any]) -> Table:
    """Modulation of light."""
    return headed(
        "flicker-limits",
        "Flicker",
        "Modulation of light by its frequency; dimming by switching has 100 %.",
        ("level", "Hz", "modulation"),
        (
            (
                row.level,
                f"from {row.from_hz:g}" if row.to_hz is None else span(row.from_hz, row.to_hz),
                "no limit" if row.percent_per_hz is None else f"at most {row.percent_per_hz:g} % for each Hz",
                *provenance(row),
            )
            for row in rows
        ),
    )
