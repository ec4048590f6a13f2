"""Nodes that want more, or less, of every hop than others do: each such group has its own choice of the links."""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from showplan.planner.faults import Fault

if TYPE_CHECKING:
    from showplan.planner.relays.problem import RelayProblem

Booleans = NDArray[np.bool_]
Indices = NDArray[np.intp]


@dataclass(frozen=True, eq=False)
class OwnLinks:
    """Nodes whose routes run over these links alone; n sites, g gateways.

    Both matrices say which of the problem's links are good enough; their last links are in the problem already.
    """

    nodes: tuple[int, ...]  # indices of the problem's nodes
    site_to_site: Booleans  # (n, n), symmetric
    gateway_to_site: Booleans  # (g, n)


def own_links_faults(problem: "RelayProblem") -> Iterator[Fault]:
    """Nodes that are not there or in two groups, and matrices that do not fit."""
    taken: set[int] = set()
    for index, own in enumerate(problem.own_links):
        at = f"/own_links/{index}"
        for node in own.nodes:
            if not 0 <= node < problem.n_nodes:
                yield Fault(f"{at}/nodes", f"there is no node {node}, they are 0 to {problem.n_nodes - 1}.")
            elif node in taken:
                yield Fault(f"{at}/nodes", f"{problem.node_names[node]} has links of its own already; name it once.")
            taken.add(node)
        for field in ("site_to_site", "gateway_to_site"):
            good, links = np.asarray(getattr(own, field)), getattr(problem, field)
            if good.dtype != np.bool_ or good.shape != links.shape:
                yield Fault(f"{at}/{field}", f"must be true or false for each link, of the shape {links.shape}.")
            elif (good & (links == 0)).any():
                yield Fault(f"{at}/{field}", f"holds links that are not in /{field}; it may only leave some out.")
            elif field == "site_to_site" and (good != good.T).any():
                yield Fault(f"{at}/{field}", "differs between the two directions of a link; both must hold.")


def split(problem: "RelayProblem") -> list[tuple[Indices, "RelayProblem"]]:
    """Nodes with the same links, and the problem as it is for them; those without links of their own come first."""
    own_nodes = {node for own in problem.own_links for node in own.nodes}
    rest = [node for node in range(problem.n_nodes) if node not in own_nodes]
    parts = [_part(problem, rest, problem.site_to_site > 0, problem.gateway_to_site > 0)] if rest else []
    for own in problem.own_links:
        if own.nodes:
            parts.append(_part(problem, own.nodes, own.site_to_site, own.gateway_to_site))
    return parts


def _part(
    problem: "RelayProblem", nodes: "tuple[int, ...] | list[int]", between: Booleans, first: Booleans
) -> tuple[Indices, "RelayProblem"]:
    at = np.array(nodes, dtype=np.intp)
    return at, replace(
        problem,
        node_names=tuple(problem.node_names[node] for node in nodes),
        site_to_site=np.where(between, problem.site_to_site, 0.0),
        gateway_to_site=np.where(first, problem.gateway_to_site, 0.0),
        site_to_node=problem.site_to_node[:, at],
        gateway_to_node=problem.gateway_to_node[:, at],
        routes=tuple(problem.routes[node] for node in nodes),
        own_links=(),
    )
