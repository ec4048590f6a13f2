"""Compiles what the planner runs as machine code ahead of its first use: `python -m showplan.planner.warm`.

deploy/run.sh and deploy/test.sh call it. It takes about a minute once, and no time while nothing has changed.
"""

import sys
import time

import numpy as np

from showplan.geometry import compiled as geometry
from showplan.machine_code import remove_old
from showplan.planner.relays import compiled as relays
from showplan.planner.relays.raising import warm_searches
from showplan.planner.simulation import Packet, SimulationInput, Source, simulate
from showplan.planner.simulation import compiled as simulation


def _simulate() -> None:
    packet = Packet(psdu_octets=20, wanted_by=(1,))
    source = Source(node=0, packets=(packet,), rate_hz=10.0)
    simulate(SimulationInput(power_dbm=np.full((2, 2), -50.0), sources=(source,), duration_s=1.0))


def warm() -> bool:
    """Compile what is not compiled yet; whether there was anything to do. Code of old versions is removed."""
    uses = {geometry.CODE: geometry.load, simulation.CODE: _simulate, relays.CODE: warm_searches}
    missing = [code for code in uses if not code.is_ready]
    for code in missing:
        uses[code]()
        code.set_ready()
    if missing:
        remove_old(uses)
    return bool(missing)


if __name__ == "__main__":
    start_s = time.monotonic()
    if warm():
        print(f"compiled in {time.monotonic() - start_s:.0f} s", file=sys.stderr)
