"""Where compiled code is kept: in the Python environment, in a folder named after what it was made of.

numba itself looks only at the file of the function that is called first, and would keep old code of the others.
"""

import hashlib
import sys
from importlib.metadata import version
from pathlib import Path
from typing import Final

KEPT_IN: Final = Path(sys.prefix) / "compiled"
SOURCES: Final = ("compiled", "world", "events", "on_air", "packets", "sending", "engine")
SEARCHES: Final = ("halved", "narrowest", "swapping")  # of the relay planner


def folder() -> Path:
    """The folder for the present sources and the compiler's version; not made here."""
    found = hashlib.sha256(version("numba").encode())
    for name in SOURCES:
        found.update((Path(__file__).parent / f"{name}.py").read_bytes())
    for name in SEARCHES:
        found.update((Path(__file__).parents[1] / "relays" / f"{name}.py").read_bytes())
    return KEPT_IN / found.hexdigest()[:16]
