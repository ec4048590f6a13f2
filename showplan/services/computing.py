"""What the planner knows of a venue, as plain values for pages, API and commands."""

from collections.abc import Callable, Collection
from dataclasses import asdict, dataclass
from typing import Any

import numpy as np

from showplan.planner.analysis import Analysis
from showplan.planner.coverage import DEFAULT_HEIGHT_M, DEFAULT_STEP_M, Coverage, CoverageError, coverage
from showplan.planner.findings import Finding
from showplan.planner.links import NetworkLinks, keeps_margin
from showplan.planner.obstacles import HOUSE_STATES, HouseState
from showplan.planner.readiness import VenuePlan
from showplan.planner.scene_file import as_document
from showplan.records.models import Project, Venue
from showplan.services.errors import FieldFault, InvalidInput, NotFound
from showplan.services.planning import PlannedVenue, plan_project, plan_venue, region_conflicts
from showplan.services.scenes import build_scene


@dataclass(frozen=True)
class CoverageQuery:
    """Which coverage is wanted: `sender` empty means the best of all gateways and relays.

    `house` is the state of the house, empty the hardest that the venue has.
    """

    level: str
    network: str
    sender: str = ""
    step_m: float = DEFAULT_STEP_M
    height_m: float = DEFAULT_HEIGHT_M
    house: str = ""


def scene_document(venue: Venue) -> dict[str, Any]:
    """The venue's Scene as JSON values."""
    return as_document(build_scene(venue))


PARTS = ("links", "routes", "readiness")


def plan_parts(venue: Venue, parts: Collection[str] = PARTS, house: str = "") -> dict[str, Any]:
    """Several results of one plan, each in the form it has alone, under its name of PARTS. Raises NotFound."""
    plan = plan_venue(venue).plan
    made: dict[str, Callable[[], dict[str, Any]]] = {
        "links": lambda: _links_in(plan, house),
        "routes": lambda: _routes_of_plan(plan, house),
        "readiness": lambda: plan_values(plan),
    }
    unknown = [part for part in parts if part not in made]
    if unknown:
        raise NotFound(f"a plan has no part {unknown[0]!r}; known: {', '.join(PARTS)}")
    return {**_stamp(plan), **{part: made[part]() for part in PARTS if part in parts}}


def readiness_of(venue: Venue) -> dict[str, Any]:
    """Fingerprint, assumptions, the seven answers and every finding of a venue."""
    return plan_values(plan_venue(venue).plan)


def project_readiness(project: Project) -> list[dict[str, Any]]:
    """Of each venue in tour order the answers, and what its region has against the tour's kit."""
    return [
        {
            "venue": one.venue.pk,
            "name": one.venue.name,
            "revision": one.venue.revision,
            "fingerprint": one.plan.fingerprint,
            "answers": _answers(one.plan),
            "region_conflicts": [_finding(finding) for finding in region_conflicts(one)],
        }
        for one in plan_project(project)
    ]


def plan_values(plan: VenuePlan) -> dict[str, Any]:
    """A plan as JSON values."""
    return {
        **_stamp(plan),
        "assumptions": list(plan.assumptions),
        "answers": _answers(plan),
        "findings": [_finding(finding) for finding in plan.findings],
    }


def state_of(plan: VenuePlan, house: str) -> HouseState:
    """The state of the house of that name; the hardest one for an empty name. Raises NotFound."""
    if not house:
        return plan.states[-1]
    if house not in HOUSE_STATES:
        raise NotFound(f"the house is {' or '.join(HOUSE_STATES)}, not {house!r}")
    # A venue that does not differ has one analysis, which holds in both states.
    return next((state for state in plan.states if state == house), plan.states[0])


def links_of(venue: Venue, house: str = "") -> dict[str, Any]:
    """Every link of every network, in both directions."""
    return _links_in(plan_venue(venue).plan, house)


def _links_in(plan: VenuePlan, house: str) -> dict[str, Any]:
    state = state_of(plan, house)
    return {
        **_stamp(plan),
        "house": state,
        "networks": [
            {
                "network": name,
                "frequency_mhz": links.frequency_mhz,
                "links": _link_values(links),
            }
            for name, links in plan.analyses[state].links.items()
        ],
    }


def _link_values(links: NetworkLinks) -> list[dict[str, Any]]:
    columns = links.columns()
    columns["is_usable"] = [keeps_margin(margin_db) for margin_db in columns["margin_db"]]
    return [dict(zip(columns, values, strict=True)) for values in zip(*columns.values(), strict=True)]


def routes_of(venue: Venue, house: str = "") -> dict[str, Any]:
    """The best route to each node that has one, the nodes without, and what the network hangs on."""
    return _routes_of_plan(plan_venue(venue).plan, house)


def _routes_of_plan(plan: VenuePlan, house: str) -> dict[str, Any]:
    state = state_of(plan, house)
    analysis = plan.analyses[state]
    return {**_stamp(plan), "house": state, "networks": [_routes_in(analysis, name) for name in analysis.routes]}


def coverage_of(venue: Venue, query: CoverageQuery) -> Coverage:
    """Margin over a grid. Raises NotFound for an unknown level or network, InvalidInput for the rest."""
    return coverage_in(plan_venue(venue), query)


def coverage_in(planned: PlannedVenue, query: CoverageQuery) -> Coverage:
    """The same for a venue that is planned already."""
    scene = planned.scene
    levels, networks = {one.name for one in scene.levels}, {one.name: one for one in scene.networks}
    if query.level not in levels:
        raise NotFound(f"there is no level {query.level!r} here; known: {', '.join(sorted(levels)) or 'none'}")
    if query.network not in networks:
        raise NotFound(f"there is no network {query.network!r} here; known: {', '.join(sorted(networks)) or 'none'}")
    try:
        return coverage(
            scene,
            networks[query.network],
            query.level,
            step_m=query.step_m,
            height_m=query.height_m,
            only=query.sender or None,
            state=state_of(planned.plan, query.house),
        )
    except CoverageError as error:
        raise InvalidInput([FieldFault("", str(error))]) from error


def coverage_values(found: Coverage) -> dict[str, Any]:
    """A coverage as JSON values: cell centres, and for each cell margins to a hundredth of a dB and delivery."""
    second = found.second_margin_db().astype(float)
    return {
        "level": found.level,
        "network": found.network,
        "house": found.state,
        "senders": list(found.transmitters),
        "receiver_type": found.listener.node_type.name,
        "receiver_is_worn": found.listener.is_worn,
        "height_m": found.listener.height_m,
        "step_m": found.step_m,
        "share_served": found.share_served(),
        "x_m": found.x_m.tolist(),
        "y_m": found.y_m.tolist(),
        "margin_db": np.round(found.best_margin_db().astype(float), 2).tolist(),
        "second_margin_db": np.round(second, 2).tolist() if np.isfinite(second).all() else None,
        "delivery": np.round(found.best_delivery().astype(float), 4).tolist(),
        "zones": [asdict(share) for share in found.zone_shares],
    }


def _stamp(plan: VenuePlan) -> dict[str, Any]:
    return {"fingerprint": plan.fingerprint, "planner_version": plan.planner_version}


def _answers(plan: VenuePlan) -> list[dict[str, Any]]:
    return [
        {
            "question": answer.question.key,
            "title": answer.question.title,
            "state": answer.state,
            "stops": answer.stops,
            "warnings": answer.warnings,
            "in_words": answer.in_words(),
        }
        for answer in plan.answers()
    ]


def _finding(finding: Finding) -> dict[str, Any]:
    # As `asdict`, which takes ten times as long to look into each text and number.
    quantities = tuple(dict(vars(quantity)) for quantity in finding.quantities)
    return {**vars(finding), "subject": dict(vars(finding.subject)), "quantities": quantities}


def _routes_in(analysis: Analysis, network: str) -> dict[str, Any]:
    routes, links = analysis.routes[network], analysis.links[network]
    return {
        "network": network,
        "routes": [
            {
                "node": label,
                "nodes": list(route.nodes),
                "hops": route.hops,
                "margin_db": route.margin_db if route.hops else None,
                "delivery": route.delivery,
            }
            for label, route in sorted(routes.items())
        ],
        "without_route": sorted(set(links.labels) - set(routes)),
        "single_points": [
            {"lost": list(point.lost), "is_link": point.is_link, "dark": list(point.dark)}
            for point in analysis.single_points[network]
        ],
    }
