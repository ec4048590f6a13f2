"""What several checks need, computed once per Scene and state of the house."""

from functools import cached_property

import networkx as nx

from showplan.planner.air import NetworkAir, air_of
from showplan.planner.links import NetworkLinks, network_links
from showplan.planner.obstacles import HouseState
from showplan.planner.power.kept import kept
from showplan.planner.power.results import ScenePower
from showplan.planner.predictions import WalkTest
from showplan.planner.routes import Route, SinglePoint, best_routes, link_graph, single_points_of_failure
from showplan.planner.scene import Scene


class Analysis:
    """Links, graphs, routes and single points of failure of a Scene in one state of the house, by network name.

    `walk_test` is the same in every state: give it on where there are several.
    """

    def __init__(self, scene: Scene, state: HouseState = "empty", walk_test: WalkTest | None = None) -> None:
        self.scene = scene
        self.state = state
        self.walk_test = walk_test or WalkTest(scene)

    @cached_property
    def links(self) -> dict[str, NetworkLinks]:
        """Links of each network whose frequency is known."""
        found = ((network.name, network_links(self.scene, network, self.state)) for network in self.scene.networks)
        return {name: links for name, links in found if links is not None}

    @cached_property
    def graphs(self) -> dict[str, nx.DiGraph]:
        """Usable links as directed graphs."""
        return {name: link_graph(links) for name, links in self.links.items()}

    @cached_property
    def routes(self) -> dict[str, dict[str, Route]]:
        """Best route to each node that has one."""
        return {name: best_routes(graph) for name, graph in self.graphs.items()}

    @cached_property
    def air(self) -> dict[str, NetworkAir]:
        """The show's data on each network that has nodes here."""
        return air_of(self.scene, self.links, self.routes, self.state)

    @cached_property
    def power(self) -> ScenePower:
        """Power of every node that feeds a load, placed here or not; the same in every state of the house."""
        return kept(self.scene)[0].power

    @cached_property
    def single_points(self) -> dict[str, tuple[SinglePoint, ...]]:
        """Nodes and links whose loss leaves others dark."""
        return {name: single_points_of_failure(graph) for name, graph in self.graphs.items()}
