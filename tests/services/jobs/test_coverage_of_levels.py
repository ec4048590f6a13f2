"""The job's figures are those that the coverage of one level gives by itself."""

import pytest

from showplan.planner.watch import Unwatched
from showplan.records.models import CrowdArea, Level
from showplan.services.computing import CoverageQuery, coverage_of, coverage_values
from showplan.services.editing import edit
from showplan.services.jobs.kind import read_parameters
from showplan.services.jobs.kinds.coverage_of_levels import KIND
from showplan.services.scenes import build_scene
from tests.tours import by

pytestmark = pytest.mark.django_db


class Impatient(Unwatched):
    """Cancels after the first part, and notes what it is told."""

    def __init__(self):
        self.told = []

    def progress(self, done, doing, best=None, bound=None):
        self.told.append((done, doing))

    def is_cancelled(self):
        return bool(self.told)


def _computed(tour, watch=None, **parameters):
    return KIND.compute(build_scene(tour.venue), read_parameters(KIND, parameters), watch or Unwatched())


@pytest.fixture
def crowded(tour, owner):
    """The tour with an audience, which makes the full house another one."""
    with edit(tour.project, by(owner)) as change:
        hall = Level.objects.get(venue=tour.venue, name="Hall")
        outline = [[12, 1], [38, 1], [38, 14], [12, 14]]
        change.create([CrowdArea(level=hall, label="Stalls", corners_m=outline, loss_db_per_m=2.0)])
    return tour


def test_every_level_as_by_itself(crowded):
    found = _computed(crowded, step_m=1.0)["levels"]
    assert [(one["level"], one["house"]) for one in found] == [
        ("Gallery", "empty"),
        ("Gallery", "full"),
        ("Hall", "empty"),
        ("Hall", "full"),
    ]
    for one in found:
        query = CoverageQuery(one["level"], one["network"], step_m=1.0, house=one["house"])
        alone = coverage_values(coverage_of(crowded.venue, query))
        assert one["share_served"] == alone["share_served"]
        assert one["zones"] == alone["zones"]
        assert one["cells"] == len(alone["x_m"]) * len(alone["y_m"])
    assert found[2]["mean_delivery"] != found[3]["mean_delivery"]


def test_only_what_is_asked_for(crowded, tour):
    assert {one["house"] for one in _computed(crowded, step_m=2.0, house="full")["levels"]} == {"full"}
    assert {one["network"] for one in _computed(crowded, step_m=2.0, network="Show")["levels"]} == {"Show"}


def test_a_grid_above_a_low_level_lies_at_its_ceiling(tour):
    heights = {one["level"]: one["height_m"] for one in _computed(tour, step_m=2.0, height_m=4.0)["levels"]}
    assert heights == {"Gallery": 3.0, "Hall": 4.0}


def test_a_cancelled_one_gives_what_it_has(tour):
    watch = Impatient()
    assert [one["level"] for one in _computed(tour, watch, step_m=2.0)["levels"]] == ["Gallery"]
    assert watch.told == [(0.0, "level Gallery, network Show, house empty")]
