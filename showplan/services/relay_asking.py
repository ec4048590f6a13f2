"""What a crew can choose from when it asks for a relay placement, and asking again without one of its sites."""

from dataclasses import dataclass
from typing import Any

from showplan.planner.relays.sites import sites_of
from showplan.planner.relays.wishes import RelayWishes
from showplan.planner.scene import Level, Scene
from showplan.records.models import Job
from showplan.services.errors import FieldFault, InvalidInput, RuleBroken
from showplan.services.jobs.kinds.relay_placement import NAME
from showplan.services.jobs.reading import job_named
from showplan.services.jobs.starting import start_job
from showplan.services.rights import Caller, refuse_unless_editor


@dataclass(frozen=True)
class RelayChoices:
    """Names by which the wishes refer to the venue; `sites` are as the planner tells them apart.

    `zones` are those in which a receiver moves, `receivers` all that are placed.
    """

    networks: tuple[str, ...]
    relay_types: tuple[str, ...]
    zones: tuple[str, ...]
    receivers: tuple[str, ...]
    sites: tuple[str, ...]
    levels: tuple[Level, ...]


def choices_in(scene: Scene) -> RelayChoices:
    """What there is in the Scene; networks that have a node here come first."""
    here = {node.network for node in scene.placed_nodes()}
    networks = sorted((network.name for network in scene.networks), key=lambda name: (name not in here, name))
    relay_nodes = [node.node_type for node in scene.nodes if node.role == "relay"]
    types = sorted((one.name for one in scene.node_types), key=lambda name: (name not in relay_nodes, name))
    # The venue's own sites alone; their names depend on no other wish.
    plain = RelayWishes(network="any", relay_type="any")
    receivers = [node for node in scene.placed_nodes() if node.role == "receiver"]
    return RelayChoices(
        networks=tuple(networks),
        relay_types=tuple(types),
        zones=tuple(sorted({node.placement.zone for node in receivers if node.placement and node.placement.zone})),
        receivers=tuple(sorted(node.label for node in receivers)),
        sites=tuple(site.name for site in sites_of(scene, plain, [])),
        levels=tuple(sorted(scene.levels, key=lambda level: (level.elevation_m, level.name))),
    )


def ask_without(caller: Caller, job_id: Any, site: str) -> Job:
    """The same question as a job's, for the venue as it is now, with a site where no relay may stand.

    Raises NotFound, NotAllowed, InvalidInput, PlanImpossible, RuleBroken.
    """
    job = job_named(caller, job_id)
    refuse_unless_editor(caller, job.project, "compute")
    if job.kind != NAME or job.venue is None:
        raise RuleBroken(f"only a job of the kind {NAME!r} of a venue has sites; this one is {job.kind!r}")
    if not site:
        raise InvalidInput([FieldFault("site", "name the site where no relay may stand")])
    asked = job.parameters
    never = [*(name for name in asked["never"] if name != site), site]
    must = [name for name in asked["must"] if name != site]
    job.venue.project = job.project
    return start_job(caller, job.venue, NAME, {**asked, "never": never, "must": must})
