"""Show timelines: which slot gets which level at which time. Records check them, the planner reads them."""

from showplan.timelines.rows import (
    HIGHEST_LEVEL,
    HIGHEST_SLOT,
    LATEST_S,
    LONGEST_TEXT,
    MOST_ROWS,
    Row,
    RowFault,
    Rows,
    in_order,
    read_row,
    read_rows,
    repeated,
    too_many,
)

__all__ = [
    "HIGHEST_LEVEL",
    "HIGHEST_SLOT",
    "LATEST_S",
    "LONGEST_TEXT",
    "MOST_ROWS",
    "Row",
    "RowFault",
    "Rows",
    "in_order",
    "read_row",
    "read_rows",
    "repeated",
    "too_many",
]
