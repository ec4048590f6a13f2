"""The job tells what the simulation of the Scene finds, in JSON and in words."""

import json
import subprocess
import sys

import pytest

from showplan.planner.simulation import Wishes, from_scene, simulate
from showplan.planner.simulation.comparing import closed_form
from showplan.planner.watch import Unwatched
from showplan.services.jobs.kind import read_parameters
from showplan.services.jobs.kinds.packet_simulation import KIND
from tests.scenes import hall, node, with_all_node_types


def _computed(scene, watch=None, **parameters):
    asked = read_parameters(KIND, {"network": "Show", "seconds": 20.0, "replications": 3} | parameters)
    assert not list(KIND.check(scene, asked))
    return KIND.compute(scene, asked, watch or Unwatched())


def test_the_figures_of_the_simulation():
    scene = hall(loads=())
    told = _computed(scene, seed=7)
    simulation = from_scene(scene, scene.network("Show"), "empty", Wishes(duration_s=20.0, seed=7))
    found = simulate(simulation.given, 3)
    assert told["replications"] == 3
    assert [one["node"] for one in told["nodes"]] == ["A1", "A2", "A3"]
    for one in told["nodes"]:
        row = simulation.labels.index(one["node"])
        assert one["delivery"]["value"] == found.delivery.value[row]
        assert one["latency_ms"]["95"]["value"] == found.latency_ms.value[row, 1]
        assert one["offered"] == one["delivered"] + sum(one["losses"].values()) == found.offered[row]
        assert sum(one["histogram"]) == one["delivered"]
    whole = told["all"]
    assert len(whole["histogram_edges_ms"]) == len(whole["histogram"]) + 1
    assert whole["delivered"] == sum(whole["histogram"]) == sum(one["delivered"] for one in told["nodes"])
    assert {one["node"] for one in told["senders"]} == {"G1", "R1"}
    json.dumps(told, allow_nan=False)


def test_the_closed_form_of_the_same_scene_stands_beside_it():
    scene = hall(loads=())
    told = _computed(scene, seed=7)
    found = closed_form(scene, "Show")
    for one in told["nodes"]:
        beside = one["closed_form"]
        assert beside["delivery"] == found.nodes[one["node"]].delivery
        low, high = one["delivery"]["low"], one["delivery"]["high"]
        assert (beside["delivery_is"] == "inside") is (low <= beside["delivery"] <= high)
        assert tuple(beside["latency_ms"].values()) == found.nodes[one["node"]].latency_ms
    assert told["closed_form"]["is_valid"] is True
    inside = sum(one["closed_form"]["delivery_is"] == "inside" for one in told["nodes"])
    words = f"The closed form's delivery lies inside the interval for {inside} of 3 nodes"
    assert any(one.startswith(words) for one in KIND.in_words(told))


def test_one_replication_has_no_interval():
    told = _computed(hall(), replications=1)
    assert {one["closed_form"]["latency_is"]["95"] for one in told["nodes"]} == {"no interval"}
    assert told["all"]["busy_share"]["low"] is None
    assert told["all"]["busy_share"]["value"] > 0


def test_in_words():
    weak = with_all_node_types(hall(loads=()), sensitivity_dbm=-62.0)
    words = KIND.in_words(_computed(weak))
    assert "of the packets arrive, worst at" in words[0]
    assert "ms at the median" in words[1]
    assert words[2].startswith("Lost to, most often first: ")
    assert words[3].startswith("Somebody sends ")
    assert words[-1] == "The closed form has no 95 % latency: no node has a route that keeps the fade margin."


class Impatient(Unwatched):
    """Cancels at once."""

    def is_cancelled(self):
        return True


def test_cancelled_before_anything_was_done():
    told = _computed(hall(), Impatient(), seconds=36_000.0)
    assert (told["replications"], told["nodes"]) == (0, [])
    assert KIND.in_words(told) == ["Cancelled before the first replication was done."]


@pytest.mark.parametrize(
    ("scene", "network", "words"),
    [
        (hall(), "Nobody's", "no network of that name"),
        (hall(nodes=(node("A1", "receiver", 1, 1.0, 1.0),), loads=()), "Show", "no gateway"),
        (hall(nodes=(node("G1", "gateway", 1, 1.0, 1.0),), loads=()), "Show", "uses a slot"),
    ],
)
def test_what_cannot_be_simulated_is_told_beforehand(scene, network, words):
    [fault] = KIND.check(scene, read_parameters(KIND, {"network": network}))
    assert fault.field == "network"
    assert words in fault.message


def test_the_server_does_not_load_the_compiler():
    code = "import sys, showplan.services.jobs.kinds; sys.exit('numba' in sys.modules)"
    assert subprocess.run([sys.executable, "-c", code], check=False).returncode == 0
