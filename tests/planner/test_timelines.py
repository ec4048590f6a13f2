"""What follows from a timeline's rows: levels and changes against a count frame by frame, and rows that cannot be."""

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from showplan.planner.scene_show import Timeline
from showplan.timelines import MOST_ROWS, RowFault, read_rows

ACT = Timeline(name="Act", rows="4,2,10;0,1,255;0.5,1,0;1,2,10;3,1,0")


def test_rows_are_put_in_order():
    assert read_rows(ACT.rows).as_text(";") == "0,1,255;0.5,1,0;1,2,10;3,1,0;4,2,10"
    assert read_rows(" 1.50 , 3 , 7 \n\n").as_text() == "1.5,3,7"
    assert read_rows("").as_text() == ""


def test_mean_levels():
    """Slot 1 is full for half a second of four, slot 2 at 10 of 255 for three."""
    assert ACT.duration_s == 4
    assert ACT.slots == {1, 2}
    assert ACT.mean_level(1) == pytest.approx(0.5 / 4)
    assert ACT.mean_level(2) == pytest.approx(10 / 255 * 3 / 4)
    assert ACT.mean_level(3) == 0
    assert Timeline(name="Still", rows="0,1,51").mean_level(1) == pytest.approx(0.2)
    assert Timeline(name="Nothing", rows="").mean_level(1) == Timeline(name="Nothing", rows="").duration_s == 0


def test_changes():
    """Of 2 slots at 10 Hz: two changes in the first second, one in the next; rows that repeat a level are none."""
    found = ACT.changes(frozenset({1, 2}), 10.0)
    assert (found.peak, found.peak_at_s) == (pytest.approx(2 / 20), 0)
    assert found.mean == pytest.approx(3 / (4 * 20))
    assert (found.largest, found.cues) == (0.5, 3)
    assert [cue.at_s for cue in found.largest_cues] == [0, 0.5, 1]
    assert ACT.changes(frozenset({2}), 10.0).peak_at_s == 1
    assert ACT.changes(frozenset({7}), 10.0).peak == 0
    blink = Timeline(
        name="Blink", rows=";".join(f"{i / 10},{slot},{i % 2 * 255}" for i in range(1, 21) for slot in (1, 2))
    )
    assert blink.changes(frozenset({1, 2}), 10.0).peak == 1
    assert blink.changes(frozenset({1, 2}), 20.0).peak == pytest.approx(0.5)
    # Faster than the frames: what changes twice within one frame goes once. Below one frame a second, frames count.
    assert blink.changes(frozenset({1, 2}), 5.0).peak == 1
    assert blink.changes(frozenset({1, 2}), 0.5).peak == 1
    assert ACT.changes(frozenset({1, 2}), 0.5).mean == pytest.approx((2 + 0) / 2 / 2)


ROWS = st.dictionaries(
    st.tuples(st.integers(0, 400).map(lambda tick: tick / 40), st.integers(1, 5)), st.integers(0, 3), min_size=1
)


@settings(max_examples=40, deadline=None)
@given(rows=ROWS, slots=st.frozensets(st.integers(1, 6), min_size=1), hz=st.sampled_from([5.0, 20.0, 40.0]))
def test_against_a_count_frame_by_frame(rows, slots, hz):
    """Independent: walk through the rows in time, keep each slot's level, note the frames in which one changes."""
    timeline = Timeline(name="T", rows=";".join(f"{time_s},{slot},{level}" for (time_s, slot), level in rows.items()))
    level, touched = dict.fromkeys(range(1, 7), 0), set()
    for (time_s, slot), to in sorted(rows.items()):
        if level[slot] != to and slot in slots:
            touched.add((int(round(time_s * 40) * hz // 40), slot))
        level[slot] = to
    end_s = max(time_s for time_s, _ in rows)
    found = timeline.changes(slots, hz)
    seconds = [0.0] * (int(np.ceil(end_s)) + 1)
    for frame, _ in touched:
        seconds[int(frame // hz)] += 1 / hz / len(slots)
    assert found.peak == pytest.approx(max(seconds))
    assert found.mean <= found.p95 + 1e-12 or found.p95 == 0
    assert 0 <= found.p95 <= found.peak <= 1
    assert found.cues == len({frame for frame, _ in touched})
    if touched:
        assert seconds[int(found.peak_at_s)] == pytest.approx(found.peak)
    # Mean level: the level at the middle of each tick of 1/40 s.
    ticks = (np.arange(round(end_s * 40)) + 0.5) / 40
    for slot in slots:
        its = sorted((time_s, to) for (time_s, s), to in rows.items() if s == slot)
        at = [max([(-1.0, 0), *(one for one in its if one[0] <= tick)], key=lambda one: one[0])[1] for tick in ticks]
        if len(ticks):
            assert timeline.mean_level(slot) == pytest.approx(np.mean(at) / 255)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("1,2", "row 1: cells must be time in s, slot and level"),
        ("1,2,3;1,2,3,4", "row 2: cells"),
        ("x,1,0", "row 1: time_s must be from 0 to 86400 s"),
        ("-1,1,0", "time_s"),
        ("nan,1,0", "time_s"),
        ("1e3,1,0", "time_s"),
        ("86401,1,0", "time_s"),
        ("1,0,0", "slot must be a whole number from 1 to 32768, not '0'"),
        ("1,32769,0", "slot"),
        ("1,1.5,0", "slot"),
        ("1,1,256", "level must be a whole number from 0 to 255, not '256'"),
        ("1,1,-1", "level"),
        ("1,1,", "level"),
        ("1,1,5\n2,1,6\n1.0,1,5", "row 3: slot 1 has a level at 1 s already, in row 1"),
        (";".join(f"{i},1,{i % 2}" for i in range(MOST_ROWS + 1)), "row 10001: count is above 10,000"),
    ],
)
def test_rows_that_cannot_be(text, words):
    with pytest.raises(RowFault, match=words.replace("(", r"\(")):
        read_rows(text)
