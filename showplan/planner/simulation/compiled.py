"""Functions compiled to machine code once, at installation (`python -m showplan.planner.simulation.warm`), and kept.

The code is kept in the Python environment, in a folder named after the package's sources: numba itself looks only at
the file of the function that is called first, and would keep old code of the others.
"""

import hashlib
import sys
from collections.abc import Callable
from pathlib import Path
from typing import Any, Final, TypeVar, cast

import numba
from numba.core import config

F = TypeVar("F", bound=Callable[..., Any])


def _sources_name() -> str:
    found = hashlib.sha256()
    for path in sorted(Path(__file__).parent.glob("*.py")):
        found.update(path.read_bytes())
    return found.hexdigest()[:16]


KEPT_IN: Final = Path(sys.prefix) / "compiled"
FOLDER: Final = KEPT_IN / _sources_name()
if not config.CACHE_DIR:  # NUMBA_CACHE_DIR in the environment comes first
    config.CACHE_DIR = str(FOLDER)


def compiled(function: F) -> F:
    """The function as machine code; it runs beside other threads. Kept on disk where there is a place to write."""
    try:
        return cast(F, numba.njit(cache=True, nogil=True, _nrt=False)(function))
    except RuntimeError:  # no folder may be written: it is compiled in each process
        return cast(F, numba.njit(nogil=True, _nrt=False)(function))
