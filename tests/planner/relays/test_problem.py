"""What cannot be asked is refused, every fault named."""

from dataclasses import replace

import numpy as np
import pytest

from showplan.planner.relays.own_links import OwnLinks
from showplan.planner.relays.problem import MOST_SITES, AirLimit, RelayProblem, RelayProblemError
from tests.planner.relays.problems import from_links

# The links of the problem below.
BETWEEN, FIRST = np.array([[False, True], [True, False]]), np.array([[True, False]])


@pytest.fixture
def problem() -> RelayProblem:
    return from_links(["A", "B"], ["n"], [("G", "A"), ("A", "B"), ("B", "n")])


@pytest.mark.parametrize(
    ("change", "pointer"),
    [
        ({"most_hops": 0}, "/most_hops"),
        ({"most_hops": 2.5}, "/most_hops"),
        ({"routes": (3,)}, "/routes/0"),
        ({"routes": (1, 1)}, "/routes"),
        ({"cost": np.array([1.0, 0.0])}, "/cost/1"),
        ({"cost": np.array([1.0, np.nan])}, "/cost/1"),
        ({"cost": np.ones(3)}, "/cost"),
        ({"must": np.ones(2, bool), "never": np.array([False, True])}, "/must/1"),
        ({"site_to_site": np.zeros((2, 3))}, "/site_to_site"),
        ({"site_to_site": np.array([[0.0, 0.5], [0.4, 0.0]])}, "/site_to_site/0/1"),
        ({"site_to_site": np.eye(2)}, "/site_to_site"),
        ({"site_to_node": np.array([[1.5], [0.0]])}, "/site_to_node/0/0"),
        ({"gateway_to_site": np.array([[np.nan, 0.0]])}, "/gateway_to_site/0/0"),
        ({"site_names": ("A", "A")}, "/site_names"),
        ({"most_relays": -1}, "/most_relays"),
        ({"gateways_to_choose": 2}, "/gateways_to_choose"),
        ({"gateways_to_choose": 0}, "/gateways_to_choose"),
        ({"air": AirLimit("repeated", 0.0, 1.0)}, "/air/packet_s"),
        ({"air": AirLimit("shouted", 1.0, 1.0)}, "/air/kind"),  # type: ignore[arg-type]
        ({"cost": "dear"}, "/cost"),
        ({"own_links": (OwnLinks((1,), BETWEEN, FIRST),)}, "/own_links/0/nodes"),
        ({"own_links": (OwnLinks((0,), BETWEEN, FIRST), OwnLinks((0,), BETWEEN, FIRST))}, "/own_links/1/nodes"),
        ({"own_links": (OwnLinks((0,), ~BETWEEN, FIRST),)}, "/own_links/0/site_to_site"),
        ({"own_links": (OwnLinks((0,), np.triu(BETWEEN), FIRST),)}, "/own_links/0/site_to_site"),
        ({"own_links": (OwnLinks((0,), BETWEEN, FIRST[0]),)}, "/own_links/0/gateway_to_site"),
    ],
)
def test_one_fault_is_named_with_its_place(problem: RelayProblem, change: dict, pointer: str) -> None:
    with pytest.raises(RelayProblemError) as refused:
        replace(problem, **change)
    assert [fault.pointer for fault in refused.value.faults] == [pointer]


def test_all_faults_are_named_at_once(problem: RelayProblem) -> None:
    with pytest.raises(RelayProblemError) as refused:
        replace(problem, most_hops=0, routes=(0,), most_relays=-2)
    assert [fault.pointer for fault in refused.value.faults] == ["/most_hops", "/routes/0", "/most_relays"]


def test_nothing_to_plan_with() -> None:
    with pytest.raises(RelayProblemError) as refused:
        from_links([], [], [], gateways=())
    assert [fault.pointer for fault in refused.value.faults] == ["/site_names", "/node_names", "/gateway_names"]


def test_too_many_sites_are_refused_with_advice() -> None:
    with pytest.raises(RelayProblemError, match="coarser grid"):
        from_links([f"S{i}" for i in range(MOST_SITES + 1)], ["n"], [])


def test_arrays_are_copied_and_cannot_be_changed(problem: RelayProblem) -> None:
    cost = np.ones(2)
    copied = replace(problem, cost=cost)
    cost[0] = 5
    assert copied.cost[0] == 1
    with pytest.raises(ValueError, match="read-only"):
        copied.cost[0] = 2
