"""Functions compiled to machine code, once: at installation (`python -m showplan.planner.simulation.warm`)."""

from collections.abc import Callable
from typing import Any, Final, TypeVar, cast

import numba
from numba.core import config as numba_config

from showplan.planner.simulation import kept

F = TypeVar("F", bound=Callable[..., Any])

_config: Final[Any] = numba_config  # its settings have no types
_njit: Final[Any] = numba.njit
if not _config.CACHE_DIR:  # NUMBA_CACHE_DIR in the environment comes first
    _config.CACHE_DIR = str(kept.folder())

# The functions make no arrays, so nothing is counted for them, and every call is taken into its caller: to hand thirty
# arrays on, or to count references to them, would take longer than the work itself (2 to 6 times, and 60 times).
_OPTIONS: Final = {"nogil": True, "forceinline": True, "_nrt": False}


def compiled(function: F) -> F:
    """The function as machine code; it runs beside other threads. Kept on disk where there is a place to write."""
    return _compiled(function, _OPTIONS)


def compiled_search(function: F) -> F:
    """The same for functions that make arrays of their own."""
    return _compiled(function, {"nogil": True})


def _compiled(function: F, options: dict[str, bool]) -> F:
    try:
        return cast(F, _njit(cache=True, **options)(function))
    except RuntimeError:  # no folder may be written: it is compiled in each process
        return cast(F, _njit(**options)(function))
