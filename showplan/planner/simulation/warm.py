"""Compiles packet simulation and relay search ahead of first use: `python -m showplan.planner.simulation.warm`.

deploy/run.sh and deploy/test.sh call it. It takes a minute once, and no time while nothing has changed.
"""

import shutil
import sys
import time

import numpy as np

from showplan.planner.relays.raising import warm_searches
from showplan.planner.simulation import Packet, SimulationInput, Source, kept, simulate

UNUSED_AFTER_S = 30 * 24 * 3600
READY = "ready"


def warm() -> bool:
    """Compile what is not compiled yet; whether there was anything to do. Code of old versions is removed."""
    folder = kept.folder()
    if (folder / READY).exists():
        return False
    packet = Packet(psdu_octets=20, wanted_by=(1,))
    source = Source(node=0, packets=(packet,), rate_hz=10.0)
    simulate(SimulationInput(power_dbm=np.full((2, 2), -50.0), sources=(source,), duration_s=1.0))
    warm_searches()
    if folder.exists():  # not where NUMBA_CACHE_DIR points elsewhere
        (folder / READY).touch()
        for other in kept.KEPT_IN.iterdir():
            if other != folder and time.time() - other.stat().st_mtime > UNUSED_AFTER_S:
                shutil.rmtree(other, ignore_errors=True)
    return True


if __name__ == "__main__":
    start_s = time.monotonic()
    if warm():
        print(f"compiled in {time.monotonic() - start_s:.0f} s", file=sys.stderr)
