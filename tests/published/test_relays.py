"""Fewest and cheapest relays on problems whose optimum is published: set cover, Steiner tree, domination."""

import itertools

import networkx as nx
import numpy as np
import pytest

from showplan.planner.relays.problem import RelayProblem
from showplan.planner.relays.solve import solve
from showplan.planner.relays.watch import Settings
from tests.planner.relays.problems import from_links

SETTINGS = Settings(alternatives=0, trade_steps=0, improvement_rounds=40, swaps=0)

# Districts that a fire station in each district covers. Source: "Fire Station Covering problem",
# open-optimization-or-examples, integer-programming/fire-station-covering.ipynb; optimum 3 (districts 2, 11 and 13).
FIRE_STATIONS = {
    1: (1, 2, 4, 5),
    2: (1, 2, 3, 5, 6),
    3: (2, 3, 6, 7),
    4: (1, 4, 5, 8, 10, 11),
    5: (1, 2, 4, 5, 6, 8),
    6: (2, 3, 5, 6, 7, 8, 9),
    7: (3, 6, 7, 9, 13),
    8: (4, 5, 6, 7, 8, 9, 10, 11, 12),
    9: (6, 8, 9, 11, 12, 13),
    10: (4, 10, 11, 14),
    11: (4, 8, 9, 10, 11, 12, 14, 15),
    12: (8, 9, 11, 12, 13, 14, 15, 16),
    13: (7, 9, 12, 13, 15, 16),
    14: (10, 11, 12, 14, 15),
    15: (11, 12, 13, 14, 15, 16),
    16: (12, 13, 15, 16),
}

# Instance b01 of SteinLib (set B, J. E. Beasley): 50 vertices, 63 weighted edges, 9 terminals; its file states the
# optimum 82. Source: SteinLib, T. Koch, A. Martin, S. Voss, "SteinLib: an updated library on Steiner tree problems in
# graphs", 2001; the file as kept in the repository guskenny/stpg, data/B/b01.stp.
STEINER_EDGES = (
    "2-8:8 2-21:7 2-32:2 4-5:8 7-29:7 11-3:7 14-31:9 17-6:7 17-42:6 18-19:2 18-28:1 18-43:1 19-2:5 20-7:3 20-14:7"
    " 20-16:8 20-27:2 20-38:8 20-40:10 20-48:2 21-12:7 21-17:5 21-18:10 22-10:6 22-20:2 22-21:2 22-40:8 22-43:7"
    " 25-34:4 27-34:4 28-5:8 28-24:5 29-9:5 29-33:7 30-5:4 30-15:1 30-16:2 33-35:3 34-20:10 34-30:2 36-2:8 36-4:6"
    " 36-11:9 36-39:7 36-49:9 36-50:10 40-15:10 40-23:3 41-1:5 41-22:8 41-25:5 41-36:2 41-44:7 41-47:7 42-6:9 42-46:10"
    " 44-24:8 44-39:3 45-26:6 45-28:1 47-37:3 47-45:10 50-13:1"
)
STEINER_TERMINALS = ("48", "49", "22", "35", "27", "12", "37", "34", "24")
STEINER_OPTIMUM = 82


def cover(sets: dict[int, tuple[int, ...]]) -> RelayProblem:
    """Set cover: every site hears the gateway, and its members hear the site."""
    sites, nodes = [f"S{i}" for i in sets], [f"N{i}" for i in sorted({i for held in sets.values() for i in held})]
    links = [("G", site) for site in sites] + [(f"S{i}", f"N{j}") for i, held in sets.items() for j in held]
    return from_links(sites, nodes, links, most_hops=2)


def test_fire_stations() -> None:
    answer = solve(cover(FIRE_STATIONS), settings=SETTINGS)
    assert answer.placement is not None
    assert (answer.state, answer.placement.cost, answer.bound) == ("optimal", 3.0, 3.0)
    published = {FIRE_STATIONS[2], FIRE_STATIONS[11], FIRE_STATIONS[13]}
    assert {district for held in published for district in held} == set(FIRE_STATIONS)


def test_steiner_tree() -> None:
    """Edges are the sites, linked where they share a vertex; the first terminal is the gateway, the others nodes."""
    edges = {}
    for part in STEINER_EDGES.split():
        ends, weight = part.split(":")
        edges[tuple(ends.split("-"))] = float(weight)
    names = {edge: "-".join(edge) for edge in edges}
    root, *terminals = STEINER_TERMINALS
    links = [(names[a], names[b]) for a, b in itertools.combinations(edges, 2) if set(a) & set(b)]
    links += [("G", names[edge]) for edge in edges if root in edge]
    nodes = [f"T{terminal}" for terminal in terminals]
    links += [(names[edge], f"T{t}") for edge in edges for t in terminals if t in edge]
    problem = from_links(list(names.values()), nodes, links, cost=np.array(list(edges.values())))
    answer = solve(problem, settings=SETTINGS)
    assert answer.placement is not None
    assert (answer.state, answer.placement.cost, answer.bound) == ("optimal", STEINER_OPTIMUM, STEINER_OPTIMUM)
    tree = nx.Graph([list(edges)[site] for site in answer.placement.sites])
    assert nx.is_tree(tree)
    assert set(STEINER_TERMINALS) <= set(tree)


@pytest.mark.parametrize(
    ("graph", "dominating"),
    [
        pytest.param(nx.petersen_graph(), 3, id="Petersen graph, domination number 3, from memory"),
        pytest.param(nx.cubical_graph(), 2, id="cube, domination number 2, from memory"),
        pytest.param(nx.cycle_graph(11), 4, id="cycle of n vertices, n/3 rounded up, from memory"),
    ],
)
def test_domination_number(graph: nx.Graph, dominating: int) -> None:
    """From memory, so proven by trying all sets as well."""
    sets = {v: (v, *graph[v]) for v in graph}
    answer = solve(cover(sets), settings=SETTINGS)
    assert answer.placement is not None
    assert (answer.state, answer.placement.cost) == ("optimal", dominating)
    smaller = itertools.combinations(graph, dominating - 1)
    assert not any(nx.is_dominating_set(graph, chosen) for chosen in smaller)
    assert nx.is_dominating_set(graph, answer.placement.sites)
