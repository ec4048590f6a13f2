"""Show timelines: which slot gets which level at which time. Records check them, the planner reads them."""

from showplan.timelines.rows import HIGHEST_LEVEL, HIGHEST_SLOT, LATEST_S, MOST_ROWS, RowFault, Rows, read_rows

__all__ = ["HIGHEST_LEVEL", "HIGHEST_SLOT", "LATEST_S", "MOST_ROWS", "RowFault", "Rows", "read_rows"]
