"""The indoor path-loss tables and the crowd as headed rows of text."""

from collections.abc import Iterable
from typing import Any

from frontend.present.headed_rows import Table, headed, provenance, span
from frontend.present.words import number


def crowds(rows: Iterable[Any]) -> Table:
    """Loss and spread through the audience."""
    return headed(
        "crowds",
        "Loss through the audience",
        "On a path at head height, and how much wider the shadowing spreads.",
        ("audience", "MHz", "loss", "shadowing"),
        (
            (row.name, _band(row), f"{row.loss_db:g} dB", f"{row.shadowing_sigma_db:g} dB", *provenance(row))
            for row in rows
        ),
    )


def power_losses(rows: Iterable[Any]) -> Table:
    """The distance coefficient of ITU-R P.1238, older form."""
    return headed(
        "indoor-power-losses",
        "Indoor loss with distance",
        "Coefficient N of ITU-R P.1238, older form: dB for each tenfold distance.",
        ("surroundings", "MHz", "N", "edition"),
        (
            (row.environment, _band(row), f"{row.power_loss_coefficient:g}", row.edition, *provenance(row))
            for row in rows
        ),
    )


def floor_losses(rows: Iterable[Any]) -> Table:
    """The floor term of ITU-R P.1238, older form."""
    return headed(
        "indoor-floor-losses",
        "Indoor loss through floors",
        "Floor term of ITU-R P.1238, older form.",
        ("surroundings", "MHz", "1, 2, … floors", "each further floor", "edition"),
        (
            (
                row.environment,
                _band(row),
                ", ".join(f"{loss_db:g}" for loss_db in row.losses_db) + " dB",
                "not published" if row.further_floor_db is None else f"{row.further_floor_db:g} dB",
                row.edition,
                *provenance(row),
            )
            for row in rows
        ),
    )


def alpha_beta_gamma(rows: Iterable[Any]) -> Table:
    """The newer form of ITU-R P.1238 and the family it is compared with."""
    return headed(
        "indoor-alpha-beta-gamma",
        "Indoor loss, alpha-beta-gamma form",
        "L = 10 α log d + β + 10 γ log f, d in m, f in GHz; rows marked cross-check are for comparison only.",
        ("surroundings", "α", "β", "γ", "shadowing", "MHz", "m", "use", "edition"),
        (
            (
                row.name,
                number(row.alpha),
                f"{number(row.beta_db)} dB",
                number(row.gamma),
                f"{number(row.shadowing_sigma_db)} dB",
                _band(row),
                span(row.nearest_m, row.furthest_m),
                row.use,
                row.edition,
                *provenance(row),
            )
            for row in rows
        ),
    )


def shadowing(rows: Iterable[Any]) -> Table:
    """Spread of the loss by surroundings."""
    return headed(
        "indoor-shadowing",
        "Indoor shadowing",
        "Standard deviation of the loss from place to place.",
        ("surroundings", "MHz", "shadowing", "edition"),
        (
            (row.environment, _band(row), f"{row.shadowing_sigma_db:g} dB", row.edition, *provenance(row))
            for row in rows
        ),
    )


def _band(row: Any) -> str:
    return span(row.low_mhz, row.high_mhz)
