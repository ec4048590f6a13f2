"""Every kind of job by its name. To add one: a module beside this file, and a line in KINDS."""

from typing import Final

from showplan.services.jobs.kind import Kind
from showplan.services.jobs.kinds import coverage_of_levels, packet_simulation, relay_placement

KINDS: Final[dict[str, Kind]] = {
    kind.name: kind for kind in (coverage_of_levels.KIND, packet_simulation.KIND, relay_placement.KIND)
}
