"""Finished relay placements for the tests: the real question of a venue with an answer made by hand."""

import json
from collections.abc import Sequence
from typing import Any

from django.utils import timezone

from showplan.planner.relays.answer import MostServed, Reason, RelayAnswer, RelayPlacement, TradePoint
from showplan.planner.relays.from_scene import RelayTask, relay_task
from showplan.planner.relays.report import answer_values
from showplan.planner.relays.wishes import RelayWishes
from showplan.records.models import CandidateSite, Job, Level, User, Venue
from showplan.services.editing import edit
from showplan.services.jobs.kinds.relay_placement import NAME
from showplan.services.jobs.starting import start_job
from showplan.services.rights import Caller
from showplan.services.scenes import build_scene
from tests.tours import by

WISHES = {"network": "Show", "relay_type": "Pocket", "least_delivery": 0.5}


def add_sites(venue: Venue, owner: User) -> None:
    """Two more candidate sites in the hall."""
    hall = Level.objects.get(venue=venue, name="Hall")
    with edit(venue.project, by(owner)) as change:
        change.create(
            [
                CandidateSite(level=hall, label="Left truss", x_m=8.0, y_m=12.0, height_m=4.0, has_mains=True),
                CandidateSite(level=hall, label="Right truss", x_m=24.0, y_m=12.0, height_m=4.0, cost=2.0),
            ]
        )


def finished_job(venue: Venue, owner: User, *placements: Sequence[str], state: str = "done", **wishes: Any) -> Job:
    """A job with one placement for each list of sites, the first of them the best."""
    job = start_job(Caller(owner), venue, NAME, WISHES | wishes)
    result = answer(venue, *placements, **wishes)
    return _ended(job, result, state)


def infeasible_job(venue: Venue, owner: User, **wishes: Any) -> Job:
    """A job that found no placement, and says why and what one relay can do."""
    job = start_job(Caller(owner), venue, NAME, WISHES | wishes)
    reason = Reason("too-few-relays", "3 relays are needed, the truck holds 1", "most_relays", 3.0, nodes=(0, 1))
    task = _task(venue, wishes)
    rest = tuple(range(2, task.problem.n_nodes))
    most = MostServed(relays_allowed=1, sites=(0,), gateways=(0,), nodes=rest, bound=len(rest))
    answer = RelayAnswer("infeasible", None, 3.0, 0.0, reasons=(reason,), most_served=most)
    return _ended(job, answer_values(task, answer), "done")


def answer(venue: Venue, *placements: Sequence[str], **wishes: Any) -> dict[str, Any]:
    """The result of a job with these placements, in the venue's words."""
    task = _task(venue, wishes)
    best, *others = [_placement(task, names) for names in placements]
    trade = TradePoint(best.relays + 1, best.worst_delivery, True, best)
    proven = (True, True, True)
    return answer_values(task, RelayAnswer("optimal", best, best.cost, 0.0, proven, tuple(others), (trade,)))


def _task(venue: Venue, wishes: dict[str, Any]) -> RelayTask:
    return relay_task(build_scene(venue), RelayWishes.model_validate_json(json.dumps(WISHES | wishes)))


def _placement(task: RelayTask, names: Sequence[str]) -> RelayPlacement:
    """Each node directly, or through the one chosen site that is best for it."""
    problem = task.problem
    sites = tuple(sorted(problem.site_names.index(name) for name in names))
    routes: list[tuple[int, ...]] = []
    worst = 1.0
    for node in range(problem.n_nodes):
        ways = {(): float(problem.gateway_to_node[0, node])}
        for site in sites:
            ways[(site,)] = float(problem.gateway_to_site[0, site] * problem.site_to_node[site, node])
        best = max(ways, key=lambda way: ways[way])
        routes.append(best)
        worst = min(worst, ways[best])
    return RelayPlacement(
        sites=sites,
        gateways=(0,),
        cost=float(problem.cost[list(sites)].sum()),
        worst_delivery=worst,
        air_s=0.004,
        routes=tuple(routes),
        route_gateways=(0,) * problem.n_nodes,
    )


def _ended(job: Job, result: dict[str, Any], state: str) -> Job:
    now = timezone.now()
    Job.objects.filter(pk=job.pk).update(
        state=state, result=result, scene="", done_share=1.0, started_at=now, finished_at=now
    )
    return Job.objects.get(pk=job.pk)
