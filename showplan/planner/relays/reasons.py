"""Why there is no placement, in words a crew can act on: which nodes, which limit, and what value of it would do."""

from collections.abc import Iterator, Sequence
from dataclasses import replace

import numpy as np

from showplan.planner.relays.answer import Reason
from showplan.planner.relays.disjoint import disjoint_routes
from showplan.planner.relays.needs import Needs
from showplan.planner.relays.posts import FAR, Posts
from showplan.planner.relays.problem import Booleans, RelayProblem

NAMES_SHOWN = 6


def never_served(needs: Needs) -> list[Reason]:
    """What is out of reach even with a relay on every site where one may stand, and every gateway."""
    posts = needs.posts
    missing = np.flatnonzero(~needs.served(posts.usable))
    without = [int(node) for node in missing if posts.hops(posts.usable)[node] == FAR]
    single = [int(node) for node in missing if node not in set(without)]
    return [*_without_route(posts.problem, without), *_without_second(posts.problem, single)]


def limits_alone(problem: RelayProblem, posts: Posts) -> list[Reason]:
    """Limits that contradict the rest at first sight: relays and air time."""
    reasons = []
    must = int(problem.must.sum())
    if problem.most_relays is not None and must > problem.most_relays:
        reasons.append(
            Reason(
                "too-few-relays",
                f"{must} sites must have a relay, the truck holds {problem.most_relays}.",
                "most_relays",
                float(must),
                is_bound=True,
                sites=tuple(int(site) for site in np.flatnonzero(problem.must)),
            )
        )
    if problem.air is not None:
        air = problem.air
        if air.kind == "repeated":
            least_s = (problem.gateways_standing + must) * air.packet_s
            why = f"{problem.gateways_standing} gateways and {must} relays that must stand, one packet each"
        else:
            least_s = float(posts.hops(posts.usable).astype(np.float64).sum()) * air.packet_s
            why = "one packet to each node over the fewest links, with a relay on every site"
        if least_s > air.allowed_s * (1 + 1e-12):
            reasons.append(
                Reason(
                    "too-much-air",
                    f"A frame takes at least {least_s:.6g} s ({why}); {air.allowed_s:.6g} s are allowed.",
                    "air.allowed_s",
                    least_s,
                    is_bound=True,
                )
            )
    return reasons


def too_few_relays(problem: RelayProblem, needed: int, is_exact: bool) -> Reason:
    """The truck holds too few."""
    return Reason(
        "too-few-relays",
        f"{'' if is_exact else 'At least '}{needed} relays are needed, the truck holds {problem.most_relays}.",
        "most_relays",
        float(needed),
        is_bound=not is_exact,
    )


def too_much_repeating(problem: RelayProblem, needed: int, is_exact: bool) -> Reason:
    """Every gateway and relay repeats, and that many do not fit into a frame."""
    assert problem.air is not None
    least_s = (problem.gateways_standing + needed) * problem.air.packet_s
    return Reason(
        "too-much-air",
        f"{needed} relays {'are' if is_exact else 'or more are'} needed; with them a frame takes {least_s:.6g} s,"
        f" {problem.air.allowed_s:.6g} s are allowed.",
        "air.allowed_s",
        least_s,
        is_bound=not is_exact,
    )


def too_few_gateways(problem: RelayProblem, needed: int) -> Reason:
    """So few of the gateway sites do not reach all nodes."""
    return Reason(
        "too-few-gateways",
        f"No choice of {problem.gateways_standing} gateway sites serves every node; {needed} would do.",
        "gateways_to_choose",
        float(needed),
    )


def together() -> Reason:
    """Nothing simpler explains it."""
    return Reason(
        "together",
        "Each limit can be kept alone, but not all of them together: allow more relays, hops, gateways or air time.",
        "most_relays",
    )


def _without_route(problem: RelayProblem, nodes: Sequence[int]) -> Iterator[Reason]:
    if not nodes:
        return
    longest = Posts(replace(problem, most_hops=problem.n_sites + 1))
    hops = longest.hops(longest.usable)
    further = [node for node in nodes if hops[node] < FAR]
    if further:
        enough = int(hops[further].max())
        yield Reason(
            "too-many-hops",
            f"{_names(problem, further)}: reached only over more than {problem.most_hops} hops; {enough} would do.",
            "most_hops",
            float(enough),
            nodes=tuple(further),
        )
    rest = [node for node in nodes if node not in set(further)]
    opened = Posts(replace(problem, never=np.zeros(problem.n_sites, dtype=bool), must=problem.must))
    reached = opened.hops(opened.usable) < FAR
    barred = [node for node in rest if reached[node]]
    if barred:
        yield Reason(
            "never-in-the-way",
            f"{_names(problem, barred)}: reached only over sites where no relay may stand.",
            "never",
            nodes=tuple(barred),
            sites=tuple(int(site) for site in np.flatnonzero(problem.never)),
        )
    lost = tuple(node for node in rest if not reached[node])
    if lost:
        yield Reason(
            "not-reached",
            f"{_names(problem, lost)}: no gateway reaches them over any of the sites; name sites nearer to them.",
            "site_names",
            nodes=lost,
        )


def _without_second(problem: RelayProblem, nodes: Sequence[int]) -> Iterator[Reason]:
    if not nodes:
        return
    left = list(nodes)
    longer: list[int] = []
    most = problem.most_hops
    most_useful = problem.n_sites + 1
    for hops in (*range(problem.most_hops + 1, min(problem.most_hops + 6, most_useful) + 1), most_useful):
        posts = Posts(replace(problem, most_hops=hops))
        found = [node for node in left if _has_pair(posts, posts.usable, node)]
        if found and hops <= problem.most_hops + 6:
            longer += found
            most = hops
            left = [node for node in left if node not in set(found)]
        if not left:
            break
    if longer:
        yield Reason(
            "two-routes-too-long",
            f"{_names(problem, longer)}: two routes only over more than {problem.most_hops} hops; {most} would do.",
            "most_hops",
            float(most),
            nodes=tuple(longer),
        )
    if left:
        yield Reason(
            "one-route-only",
            f"{_names(problem, left)}: one route, but no second that shares no relay with it; ask for one, or name"
            " more sites around.",
            "routes",
            1.0,
            nodes=tuple(left),
        )


def _has_pair(posts: Posts, chosen: Booleans, node: int) -> bool:
    part, at = posts.part_of(node)
    return disjoint_routes(part, chosen, at) is not None


def _names(problem: RelayProblem, nodes: Sequence[int]) -> str:
    names = [problem.node_names[node] for node in nodes]
    more = f" and {len(names) - NAMES_SHOWN} more" if len(names) > NAMES_SHOWN else ""
    return ", ".join(names[:NAMES_SHOWN]) + more
