"""The coverage on the venue's page: its addresses, its receiver, its zones, and the value of each cell."""

from typing import Any

import numpy as np
from django.urls import reverse
from numpy.typing import NDArray

from frontend.present.choice import Choice
from frontend.present.legend import legend_rows
from frontend.present.words import percent
from showplan.services.errors import InvalidInput
from showplan.services.pictures import DELIVERY_CLASSES, MARGIN_CLASSES, Coverage, level_coverage
from showplan.services.planning import PlannedVenue

ADDRESSES = {
    "picture": "coverage",
    "values": "coverage-values",
    "table": "coverage-table",
    "archive": "coverage-archive",
}


def chosen_coverage(planned: PlannedVenue, choice: Choice) -> Coverage | None:
    """The coverage of a choice, None where nothing transmits."""
    if choice.level is None or choice.network is None or not choice.senders:
        return None
    try:
        return level_coverage(planned, choice.level.name, choice.network, choice.sender, choice.house)
    except InvalidInput:
        return None


def coverage_part(planned: PlannedVenue, choice: Choice) -> dict[str, Any]:
    """What the venue's page says of the coverage of a choice that has a level."""
    found = chosen_coverage(planned, choice)
    return {
        "coverage": found,
        "addresses": _addresses(planned, choice) if found is not None else None,
        "reading": _reading(choice),
        "listener": _listener(found) if found is not None else "",
        "has_one_sender": found is not None and len(found.transmitters) < 2,
        "legend": legend_rows(found, choice.layer),
        "link_legend": legend_rows(None),
        "zones_served": _zones(found) if found is not None else [],
    }


def cell_values(found: Coverage) -> dict[str, Any]:
    """Value of every cell, rows from the bottom of the plan, each from the left: dB to a tenth, delivery to 3 digits.

    `corner_m` is the lower left corner of the first cell; `server` the place of the best sender in `senders`;
    `second_db` is None where only one sender is at work.
    """
    half_m = found.step_m / 2
    second_db = found.second_margin_db()
    return {
        "corner_m": [round(float(found.x_m[0]) - half_m, 6), round(float(found.y_m[0]) - half_m, 6)],
        "step_m": found.step_m,
        "columns": len(found.x_m),
        "rows": len(found.y_m),
        "senders": list(found.transmitters),
        "margin_db": _rounded(found.best_margin_db(), 1),
        "second_db": _rounded(second_db, 1) if np.isfinite(second_db).all() else None,
        "delivery": _rounded(found.best_delivery(), 3),
        "server": found.margin_db.argmax(axis=0).ravel().tolist(),
    }


def _rounded(values: NDArray[Any], digits: int) -> list[float]:
    rounded: list[float] = np.round(values.astype(np.float64), digits).ravel().tolist()
    return rounded


def _reading(choice: Choice) -> dict[str, Any]:
    """How the script says a cell in words: the layer that is drawn, the house where it matters, the classes."""
    return {
        "layer": choice.layer,
        "house": choice.house if len(choice.houses) > 1 else "",
        "margin_classes": [{"words": one.words, "low": one.low_db} for one in MARGIN_CLASSES],
        "delivery_classes": [{"words": one.words, "low": one.low} for one in DELIVERY_CLASSES],
    }


def _addresses(planned: PlannedVenue, choice: Choice) -> dict[str, str]:
    return {key: f"{reverse(name, args=[planned.venue.pk])}?{choice.query}" for key, name in ADDRESSES.items()}


def _listener(coverage: Coverage) -> str:
    """For which receiver the coverage holds."""
    listener = coverage.listener
    worn = ", worn" if listener.is_worn else ""
    return (
        f"{listener.node_type.name}{worn}, {listener.height_m:g} m above the floor, in cells of {coverage.step_m:.2g} m"
    )


def _zones(coverage: Coverage) -> list[dict[str, str]]:
    return [
        {
            "zone": share.zone,
            "served": percent(share.served),
            "mean": percent(share.mean_delivery),
            "worst": percent(share.worst_delivery),
        }
        for share in coverage.zone_shares
    ]
