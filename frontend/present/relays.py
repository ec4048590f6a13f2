"""The page of relays and failures: how a planning fares, its placements side by side, what failures do."""

from collections.abc import Mapping
from typing import Any

from frontend.editing.wording import moment, sentence
from frontend.present.asked_jobs import Asking, earlier_jobs, progress_of
from frontend.present.choice import house_options
from frontend.present.heading import heading
from frontend.present.relay_plans import small_plans
from frontend.present.words import counted, number, percent
from showplan.records.models import Job
from showplan.services.computing import state_of
from showplan.services.failures import failures_in
from showplan.services.jobs.kinds.relay_placement import NAME, demands_in_words, most_served_in_words
from showplan.services.jobs.reading import result_in_words
from showplan.services.planning import PlannedVenue

ASKING = Asking(
    kind=NAME,
    page="relays",
    stem="relay",
    noun="relay placement",
    nothing_yet="Nothing was planned for this venue yet.",
    cancel="Cancel, keep the best so far",
)
LIMITS = {
    "most_hops": "most hops",
    "most_relays": "most relays in the truck",
    "routes": "routes wanted",
    "never": "sites where no relay may stand",
    "gateways_to_choose": "gateways to choose sites for",
    "air.allowed_s": "air time of a frame (s)",
    "site_names": "candidate sites",
}
# What would do where the limit is no number.
WOULD_DO = {"never": "relays allowed there", "site_names": "sites nearer to them"}
STAGES = {"cost": "the cost", "delivery": "the worst delivery at that cost", "air": "the air time at both"}


def relays_page(planned: PlannedVenue, job: Job | None, house: str) -> dict[str, Any]:
    """The whole page but its form. Raises NotFound for an unknown state of the house."""
    venue, plan = planned.venue, planned.plan
    state = state_of(plan, house)
    query = {"job": str(job.pk)} if job else {}
    return {
        **heading(venue, "relays"),
        **progress_of(venue, ASKING, job, plan.fingerprint),
        "result": result_of(planned, job),
        "earlier": earlier_jobs(venue, ASKING, job),
        "houses": house_options(plan.states, state, query),
        "house": state,
        "networks": [_failures(one) for one in failures_in(planned, house)["networks"]],
        "fingerprint": plan.fingerprint,
        "planner_version": plan.planner_version,
    }


def result_of(planned: PlannedVenue, job: Job | None) -> dict[str, Any] | None:
    """The answer of a job in words, numbers and drawings; None until there is one."""
    if job is None or job.result is None:
        return None
    answer = job.result
    is_older = job.scene_fingerprint != planned.plan.fingerprint
    best = answer["placements"][0]["cost"] if answer["placements"] else 0.0
    placements = [_placement(planned, one, index) for index, one in enumerate(answer["placements"])]
    return {
        # Reasons stand in a table of their own.
        "sentences": [] if answer["reasons"] else [sentence(words) for words in result_in_words(job)],
        "proven": _proven_words(answer, best) if answer["placements"] else "",
        "placements": placements,
        "is_wide": any(plan.is_wide for one in placements for plan in one["plans"]),
        "has_air": any(one["air_ms"] is not None for one in answer["placements"]),
        "trade": [
            {
                "allowed": point["relays_allowed"],
                "delivery": percent(point["worst_delivery"]),
                "proven": "proven best" if point["is_proven"] else "best found",
                "sites": ", ".join(point["relays"]) or "none",
            }
            for point in answer["trade"]
        ],
        "reasons": [_reason(one) for one in answer["reasons"]],
        "most_served": list(most_served_in_words(answer)) if answer["reasons"] else [],
        "demands": list(demands_in_words(job.parameters)),
        "size": f"{counted(answer['sites'], 'site')}, {counted(answer['nodes'], 'node')} to serve",
        "is_older": is_older,
        "network": answer["network"],
        "relay_type": answer["relay_type"],
        "asked": f"{moment(job.created_at)} by {job.started_by_name}",
        "is_cancelled": job.state == Job.State.CANCELLED,
        "fingerprint": job.scene_fingerprint,
        "planner_version": job.planner_version,
    }


def _proven_words(answer: Mapping[str, Any], cost: float) -> str:
    if not answer["proven"]["cost"]:
        gap = f"; the gap is {percent(answer['gap'])}" if answer["gap"] else ""
        return f"The least cost is not proven: {number(cost)} was found, none is below {number(answer['bound'])}{gap}."
    told = [words for name, words in STAGES.items() if answer["proven"][name]]
    listed = f"{', '.join(told[:-1])} and {told[-1]}" if len(told) > 1 else told[0]
    return f"Proven best: {listed}."


def _placement(planned: PlannedVenue, placement: Mapping[str, Any], index: int) -> dict[str, Any]:
    routes = placement["routes"]
    worst = min(routes, key=lambda route: (route["delivery"], route["node"]), default=None)
    return {
        "index": index,
        "number": index + 1,
        "plans": small_plans(planned, placement),
        "relays": len(placement["relays"]),
        "sites": [_site(one) for one in placement["relays"]],
        "gateways": ", ".join(one.get("site") or one["node"] for one in placement["gateways"]),
        "cost": number(placement["cost"]),
        "worst": f"{percent(worst['delivery'])}, to {worst['node']}" if worst else "no node to serve",
        "air": f"{number(placement['air_ms'])} ms a frame" if placement["air_ms"] is not None else "",
        "routes": [_route(one) for one in sorted(routes, key=lambda route: route["node"])],
        "has_pairs": any(one["disjoint"] for one in routes),
    }


def _site(site: Mapping[str, Any]) -> dict[str, Any]:
    mains = "mains" if site["has_mains"] else "no mains"
    where = f"{site['level']}, x {site['x_m']:.1f} m, y {site['y_m']:.1f} m, {site['height_m']:g} m high, {mains}"
    return {"name": site["site"], "where": where}


def _route(route: Mapping[str, Any]) -> dict[str, Any]:
    pairs = [" – ".join(way) or "direct" for way in route["disjoint"]]
    return {
        "node": route["node"],
        "way": " – ".join([route["gateway"], *route["through"]]),
        "hops": route["hops"],
        "delivery": percent(route["delivery"]),
        "pair": "; ".join(pairs),
    }


def _reason(reason: Mapping[str, Any]) -> dict[str, Any]:
    smallest = reason["smallest"]
    value = WOULD_DO.get(reason["limit"], "not known")
    if smallest is not None:
        value = f"{'at least ' if reason['is_bound'] else ''}{number(smallest)}"
    return {
        "sentence": sentence(reason["sentence"]),
        "limit": LIMITS.get(reason["limit"], reason["limit"]),
        "smallest": value,
        "concerned": ", ".join([*reason["nodes"], *reason["sites"]]),
    }


def _failures(network: Mapping[str, Any]) -> dict[str, Any]:
    pair = [network["worst_pair"]] if network["worst_pair"] else []
    rows = [_failure(one) for one in (*network["nodes"], *network["links"], *pair)]
    return {
        "name": network["network"],
        "reached": counted(network["reached"], "node"),
        "worst": percent(network["worst_delivery"]),
        "rows": rows,
        "is_dark": not network["reached"],
        "has_pair": bool(pair),
    }


def _failure(failure: Mapping[str, Any]) -> dict[str, Any]:
    dark, weakened = failure["dark"], failure["weakened"]
    weaker = [f"{one['node']} {percent(one['before'])} to {percent(one['after'])}" for one in weakened]
    kinds = {"node": "", "link": "link ", "pair": "both "}
    between = " – " if failure["kind"] == "link" else " and "
    return {
        "lost": f"{kinds[failure['kind']]}{between.join(failure['lost'])}",
        "kind": {"node": "gateway or relay", "link": "link", "pair": "worst pair of relays"}[failure["kind"]],
        "state": "stop" if dark else "look" if weakened else "ready",
        "symbol": "■" if dark else "▲" if weakened else "✓",
        "dark": f"{len(dark)}: {', '.join(dark)}" if dark else "nobody",
        "weaker": f"{len(weaker)}: {', '.join(weaker)}" if weaker else "nobody",
    }
