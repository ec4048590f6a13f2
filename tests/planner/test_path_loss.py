"""The path-loss models as the planner uses them, obstacles, crowd and what is used outside its range."""

import dataclasses

import numpy as np
import pytest

from showplan.planner.path_loss import PATH_LOSS_MODELS, SURROUNDINGS
from showplan.planner.propagation import Propagation
from showplan.planner.readiness import plan
from showplan.planner.scene import CrowdArea, Scene, Wall
from tests.published.tolerances import HUNDREDTH_DB
from tests.scenes import HALL, hall, with_venue

G, NEAR, FAR = np.array([[1.0, 10.0, 3.0]]), np.array([[11.0, 10.0, 1.5]]), np.array([[39.0, 10.0, 1.5]])


def bare(**venue) -> Scene:
    return with_venue(hall(walls=(), readings=()), **venue)


def loss_db(scene: Scene, to_m: np.ndarray = FAR, frequency_mhz: float = 2440.0, state: str = "empty") -> float:
    return float(Propagation(scene, frequency_mhz, state).path_loss_db(G, to_m)[0, 0])


@pytest.mark.parametrize("model", PATH_LOSS_MODELS)
def test_every_model_works_grows_with_distance_and_agrees_on_the_grid(model: str) -> None:
    scene = bare(path_loss_model=model, surroundings=SURROUNDINGS.get(model, ("",))[0])
    assert loss_db(scene, FAR) > loss_db(scene, NEAR)
    walled = dataclasses.replace(scene, walls=hall().walls)
    propagation = Propagation(walled, 2440.0)
    x, y = np.arange(0.5, 40, 1.0), np.arange(0.5, 20, 1.0)
    grid = propagation.path_loss_on_grid_db(G[0], x, y, 1.5)
    cells = np.stack([*np.meshgrid(x, y), np.full((20, 40), 1.5)], axis=-1).reshape(-1, 3)
    np.testing.assert_allclose(grid.ravel(), propagation.path_loss_db(G, cells)[0], atol=HUNDREDTH_DB)


def test_site_general_office_at_30_m() -> None:
    """ITU-R P.1238 older form, 2440 MHz, office: 84.061 dB at 30 m (equal to a simulator's own figure)."""
    scene = bare(path_loss_model="site-general", surroundings="office")
    at_30_m = G + np.array([[30.0, 0.0, 0.0]])
    assert loss_db(scene, at_30_m) == pytest.approx(84.061, abs=HUNDREDTH_DB)


def test_a_wall_changes_the_view_in_the_model_by_sight() -> None:
    """ITU-R P.1238-11: corridor, 20 m, 2.44 GHz: 58.04 dB clear, 74.92 dB blocked."""
    scene = bare(path_loss_model="indoor-by-sight", surroundings="corridor")
    at_20_m = G + np.array([[20.0, 0.0, 0.0]])
    assert loss_db(scene, at_20_m) == pytest.approx(58.04, abs=HUNDREDTH_DB)
    wall = Wall(label="W", level=HALL, start_m=(5.0, 0.0), end_m=(5.0, 20.0), height_m=6.0, material="wood-20")
    assert loss_db(dataclasses.replace(scene, walls=(wall,)), at_20_m) == pytest.approx(74.92, abs=HUNDREDTH_DB)


def test_two_rays_over_open_ground() -> None:
    """Two-ray, reflection -1, antennas 3 m and 1.5 m, 2440 MHz: 60.87 dB at 20 m, 68.24 dB at 50 m along the ground."""
    scene = with_venue(
        hall(walls=(), readings=(), levels=(dataclasses.replace(hall().levels[0], width_m=400.0),)),
        path_loss_model="two-ray",
    )
    for distance_m, expected_db in ((20.0, 60.87), (50.0, 68.24)):
        to_m = np.array([[1.0 + distance_m, 10.0, 1.5]])
        assert loss_db(scene, to_m) == pytest.approx(expected_db, abs=HUNDREDTH_DB)


def riser(top_m: float, **changes) -> Scene:
    wall = Wall(
        label="Riser",
        level=HALL,
        start_m=(11.0, 0.0),
        end_m=(11.0, 20.0),
        height_m=top_m,
        material="metal",
        has_open_top=True,
    )
    return dataclasses.replace(bare(path_loss_model="free-space"), walls=(dataclasses.replace(wall, **changes),))


def test_radio_bends_over_an_open_top() -> None:
    """ITU-R P.526 knife edge: 1 m above the line, 10 m and 20 m away, 2440 MHz: 17.096 dB."""
    free_db = loss_db(bare(path_loss_model="free-space"), to_m := np.array([[31.0, 10.0, 3.0]]))
    assert loss_db(riser(4.0), to_m) - free_db == pytest.approx(17.096, abs=HUNDREDTH_DB)
    assert loss_db(riser(2.5), to_m) - free_db == pytest.approx(0.0, abs=0.7)
    through = riser(4.0, material="plasterboard-26")
    assert loss_db(through, to_m) - free_db == pytest.approx(1.160, abs=HUNDREDTH_DB)


def test_a_crowd_costs_by_the_metre_when_the_house_is_full() -> None:
    area = CrowdArea(
        label="Stalls",
        level=HALL,
        corners_m=((10.0, 0.0), (20.0, 0.0), (20.0, 20.0), (10.0, 20.0)),
        height_m=1.6,
        loss_db_per_m=0.5,
        most_db=12.0,
    )
    scene = dataclasses.replace(bare(), crowd_areas=(area,))
    low = np.array([[1.0, 10.0, 1.0]]), np.array([[30.0, 10.0, 1.0]])
    empty, full = (Propagation(scene, 2440.0, state).path_loss_db(*low)[0, 0] for state in ("empty", "full"))
    assert full - empty == pytest.approx(5.0)
    high = np.array([[1.0, 10.0, 3.0]]), np.array([[30.0, 10.0, 3.0]])
    empty, full = (Propagation(scene, 2440.0, state).path_loss_db(*high)[0, 0] for state in ("empty", "full"))
    assert full == empty
    capped = dataclasses.replace(scene, crowd_areas=(dataclasses.replace(area, most_db=3.0),))
    assert Propagation(capped, 2440.0, "full").path_loss_db(*low)[0, 0] - loss_db(bare(), *low[1:]) < 4.0


def test_the_worst_state_counts_and_says_so() -> None:
    area = CrowdArea(
        label="Stalls",
        level=HALL,
        corners_m=((10.0, 0.0), (34.0, 0.0), (34.0, 20.0), (10.0, 20.0)),
        height_m=2.0,
        loss_db_per_m=5.0,
        most_db=60.0,
    )
    made = plan(hall(crowd_areas=(area,)))
    assert made.states == ("empty", "full")
    unheard = [finding for finding in made.findings if finding.code == "node-not-heard"]
    assert {(finding.subject.name, finding.house) for finding in unheard} >= {("A2", "full")}
    assert all(finding.sentence.startswith("With the house full: ") for finding in unheard)
    gateway = next(finding for finding in made.findings if finding.code == "within-limit")
    assert gateway.house == ""


def test_use_outside_the_published_range_is_said() -> None:
    scene = bare(path_loss_model="indoor-by-sight", surroundings="corridor")
    far = dataclasses.replace(
        scene, levels=(dataclasses.replace(scene.levels[0], width_m=400.0),), nodes=(*scene.nodes[:3],), loads=()
    )
    moved = dataclasses.replace(
        far.nodes[0], placement=dataclasses.replace(far.nodes[0].placement, position_m=(390.0, 1.0))
    )
    findings = plan(dataclasses.replace(far, nodes=(moved, *far.nodes[1:]))).findings
    sentence = next(f.sentence for f in findings if f.code.startswith("model-outside-range"))
    assert "stated up to 160 m" in sentence
