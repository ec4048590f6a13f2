"""A coverage as a file: numpy's archive for programs, CSV for spreadsheets."""

import csv
import io
from collections.abc import Iterator

import numpy as np

from showplan.planner.coverage import Coverage


def as_npz(found: Coverage) -> bytes:
    """An .npz archive: x_m, y_m, transmitters; margin_db and delivery (transmitters, rows, columns)."""
    stream = io.BytesIO()
    np.savez_compressed(
        stream,
        x_m=found.x_m,
        y_m=found.y_m,
        transmitters=np.array(found.transmitters),
        margin_db=found.margin_db,
        delivery=found.delivery,
    )
    return stream.getvalue()


def as_csv(found: Coverage) -> str:
    """One line for each cell: its centre, the best and second-best margin, the delivery and the best sender."""
    stream = io.StringIO()
    writer = csv.writer(stream, lineterminator="\r\n")
    writer.writerow(("x_m", "y_m", "margin_db", "second_margin_db", "delivery", "sender"))
    writer.writerows(_cells(found))
    return stream.getvalue()


def _cells(found: Coverage) -> Iterator[tuple[str, ...]]:
    best, second, delivery = found.best_margin_db(), found.second_margin_db(), found.best_delivery()
    server = found.margin_db.argmax(axis=0)
    for row, y_m in enumerate(found.y_m):
        for column, x_m in enumerate(found.x_m):
            at = (row, column)
            spare = f"{second[at]:.2f}" if np.isfinite(second[at]) else ""
            sender = found.transmitters[int(server[at])]
            # A text that a spreadsheet would take for a formula is told apart by a leading apostrophe.
            safe = f"'{sender}" if sender[:1] in "=+-@" else sender
            yield f"{x_m:.3f}", f"{y_m:.3f}", f"{best[at]:.2f}", spare, f"{delivery[at]:.4f}", safe
