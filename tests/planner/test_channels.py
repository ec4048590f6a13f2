"""Radio channels for the networks of a venue: proven best, within the region, explained."""

import dataclasses
import itertools

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from showplan.planner.channels import ChannelPlan, _Coupling, between_db, channel_plan
from showplan.planner.scene import Network, OccupiedSpectrum, Scene
from tests.scenes import hall, node, with_venue

A_HUNDREDTH_DB = 0.011


def venue(count: int, occupied: list[tuple[float, float, float]], channels: list[int] | None = None) -> Scene:
    """So many networks side by side in the hall, and occupants (centre, width, level)."""
    channels = channels or [11] * count
    networks = tuple(Network(name=f"N{i}", phy="oqpsk-2450", radio_channel=channels[i], pan_id=i) for i in range(count))
    nodes = tuple(
        dataclasses.replace(node(f"{role[0]}{i}", role, address, 3.0 + 6 * i, 4.0 + 9 * address), network=f"N{i}")
        for i in range(count)
        for address, role in enumerate(("gateway", "receiver"))
    )
    taken = tuple(
        OccupiedSpectrum(label=f"O{i}", centre_mhz=centre, bandwidth_mhz=width, received_dbm=level)
        for i, (centre, width, level) in enumerate(occupied)
    )
    return hall(networks=networks, nodes=nodes, occupied_spectrum=taken, loads=(), readings=(), zones=())


def least_by_trying_all(scene: Scene, made: ChannelPlan) -> float:
    networks = list(scene.networks)
    coupling = _Coupling.of(scene, networks, "empty")
    options = {choice.network: choice.options for choice in made.choices}
    return min(
        sum(option.noise_rise_db for option in combination)
        + sum(
            between_db(coupling, networks[a], combination[a], networks[b], combination[b])
            for a, b in itertools.combinations(range(len(networks)), 2)
        )
        for combination in itertools.product(*(options[network.name] for network in networks))
    )


occupants = st.lists(
    st.tuples(
        st.sampled_from([2412.0, 2437.0, 2462.0, 2425.0]), st.sampled_from([2.0, 20.0, 40.0]), st.floats(-95, -40)
    ),
    max_size=4,
)


@settings(max_examples=15, deadline=None)
@given(st.integers(1, 3), occupants)
def test_no_combination_is_better(count: int, occupied) -> None:
    scene = venue(count, occupied)
    made = channel_plan(scene)
    assert made.is_optimal
    assert made.combinations == 16**count
    assert sum(choice.noise_rise_db for choice in made.choices) >= 0
    assert made.total_noise_rise_db == pytest.approx(least_by_trying_all(scene, made), abs=A_HUNDREDTH_DB)


def test_three_busy_access_points_leave_the_four_known_channels() -> None:
    """Wi-Fi 1, 6 and 11 leave 15, 20, 25 and 26 of the 2.4 GHz channels clear (read in a public source file)."""
    busy = [(2412.0, 22.0, -50.0), (2437.0, 22.0, -50.0), (2462.0, 22.0, -50.0)]
    made = channel_plan(venue(1, busy))
    assert made.choices[0].radio_channel in (15, 20, 25, 26)
    clear = {option.radio_channel for option in made.choices[0].options if not option.taken_by}
    assert clear == {15, 20, 25, 26}


def test_networks_keep_apart_and_a_quiet_channel_is_kept() -> None:
    made = channel_plan(venue(3, [], [11, 11, 26]))
    channels = [choice.radio_channel for choice in made.choices]
    assert len(set(channels)) == 3
    assert channels[2] == 26
    assert made.choices[2].is_kept
    assert made.choices[2].reason.startswith("Kept")
    kept = channel_plan(venue(2, [], [13, 22]))
    assert [choice.is_kept for choice in kept.choices] == [True, True]


def test_the_region_decides_what_there_is_to_choose_from() -> None:
    scene = venue(1, [])
    sub_ghz = dataclasses.replace(
        scene,
        networks=(Network(name="N0", phy="oqpsk-915", radio_channel=5, pan_id=0),),
        node_types=tuple(dataclasses.replace(sort, phy="oqpsk-915") for sort in scene.node_types),
    )
    assert channel_plan(with_venue(sub_ghz, region="eu")).without[0][0] == "N0"
    australian = channel_plan(with_venue(sub_ghz, region="au")).choices[0]
    # The band starts at 915 MHz there: channels 6 to 10 fit, 5 (914 MHz) does not.
    assert [option.radio_channel for option in australian.options] == [6, 7, 8, 9, 10]
    assert "in no band listed" in australian.reason


def test_six_networks_are_still_solved() -> None:
    made = channel_plan(venue(6, [(2437.0, 20.0, -55.0)], [11, 12, 13, 14, 15, 16]))
    assert len({choice.radio_channel for choice in made.choices}) == 6
    assert made.tried < made.combinations


def test_a_venue_without_nodes_needs_no_channel() -> None:
    assert channel_plan(hall(nodes=(), loads=(), readings=())).choices == ()
