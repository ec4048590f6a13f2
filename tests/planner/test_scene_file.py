"""The Scene file: what is refused, with which words and where."""

import hashlib
import json
from collections.abc import Callable
from dataclasses import replace
from typing import Any

import jsonschema
import pytest
import rfc8785

from showplan.planner.faults import SceneError
from showplan.planner.scene import Scene
from showplan.planner.scene_file import as_document, fingerprint, in_order, read, schema, write
from tests.scenes import hall

Change = Callable[[dict[str, Any]], Any]


def faults_after(change: Change) -> list[tuple[str, str]]:
    document = as_document(hall())
    change(document)
    with pytest.raises(SceneError) as caught:
        read(json.dumps(document))
    return [(fault.pointer, fault.message) for fault in caught.value.faults]


# (what was done to the file, the pointer of the place, a part of the message)
BAD_FILES: list[tuple[str, Change, str, str]] = [
    ("unknown field", lambda d: d["walls"][0].update(colour="red"), "/walls/0/colour", "unknown field"),
    ("unknown field at the top", lambda d: d.update(cues=[]), "/cues", "unknown field"),
    ("missing field", lambda d: d["walls"][0].pop("material"), "/walls/0/material", "is missing"),
    ("wrong sign", lambda d: d["levels"][0].update(width_m=-40), "/levels/0/width_m", "greater than 0"),
    (
        "wrong sign of a loss",
        lambda d: d["node_types"][0].update(cable_loss_db=-1),
        "/node_types/0/cable_loss_db",
        "-1",
    ),
    (
        "positive sensitivity",
        lambda d: d["node_types"][0].update(sensitivity_dbm=97),
        "/node_types/0/sensitivity_dbm",
        "0",
    ),
    (
        "NaN",
        lambda d: d["nodes"][0]["placement"].update(height_m=float("nan")),
        "/nodes/0/placement/height_m",
        "NaN",
    ),
    ("infinity", lambda d: d["walls"][0].update(height_m=float("inf")), "/walls/0/height_m", "finite"),
    ("text for a number", lambda d: d["walls"][0].update(height_m="4"), "/walls/0/height_m", "number"),
    ("wall of zero length", lambda d: d["walls"][0].update(end_m=[20, 0]), "/walls/0", "no length"),
    (
        "wall off the level",
        lambda d: d["walls"][0].update(end_m=[20, 99]),
        "/walls/0/end_m",
        "off level 'Hall'",
    ),
    (
        "placement off its level",
        lambda d: d["nodes"][1]["placement"].update(position_m=[-1, 5]),
        "/nodes/1/placement/position_m",
        "x 0 to 40 m",
    ),
    (
        "placement too high",
        lambda d: d["nodes"][0]["placement"].update(height_m=7),
        "/nodes/0/placement/height_m",
        "clear height",
    ),
    (
        "duplicate address",
        lambda d: d["nodes"][1].update(short_address=2),
        "/nodes/1/short_address",
        "is taken",
    ),
    (
        "no address",
        lambda d: d["nodes"][0].pop("short_address"),
        "/nodes/0/short_address",
        "needs an address",
    ),
    (
        "two nodes of one label",
        lambda d: d["nodes"][1].update(label="A1", short_address=77),
        "/nodes/1",
        "repeats the name",
    ),
    ("newer schema", lambda d: d.update(schema_version=2), "/schema_version", "update Showplan"),
    ("older schema", lambda d: d.update(schema_version=0), "/schema_version", "1"),
    (
        "unknown material",
        lambda d: d["walls"][0].update(material="cheese"),
        "/walls/0/material",
        "table of materials",
    ),
    ("unknown region", lambda d: d["venue"].update(region="moon"), "/venue/region", "table of regions"),
    ("unknown level", lambda d: d["walls"][0].update(level="Attic"), "/walls/0/level", "no 'Attic'"),
    (
        "unknown zone",
        lambda d: d["nodes"][2]["placement"].update(zone="Pit"),
        "/nodes/2/placement/zone",
        "no zone",
    ),
    ("unknown network", lambda d: d["nodes"][0].update(network="Other"), "/nodes/0/network", "no 'Other'"),
    (
        "zone that crosses itself",
        lambda d: d["zones"][0].update(corners_m=[[0, 0], [9, 9], [9, 0], [0, 9]]),
        "/zones/0/corners_m",
        "crosses",
    ),
    (
        "zone of two corners",
        lambda d: d["zones"][0].update(corners_m=[[0, 0], [9, 9]]),
        "/zones/0/corners_m",
        "3",
    ),
    (
        "point and zone",
        lambda d: d["nodes"][2]["placement"].update(zone="Stage", position_m=[3, 3]),
        "/nodes/2/placement",
        "one of the two",
    ),
    (
        "output used twice",
        lambda d: d["loads"].append(d["loads"][0] | {"label": "L2"}),
        "/loads/1/output",
        "already feeds",
    ),
    ("output that is not there", lambda d: d["loads"][0].update(output=9), "/loads/0/output", "4 outputs"),
    ("watts and amps", lambda d: d["loads"][0].update(rated_a=1.0), "/loads/0", "one of the two"),
]


@pytest.mark.parametrize(("what", "change", "pointer", "words"), BAD_FILES, ids=[row[0] for row in BAD_FILES])
def test_one_fault_one_message_with_its_place(what: str, change: Change, pointer: str, words: str) -> None:
    faults = faults_after(change)
    assert [fault[0] for fault in faults] == [pointer], what
    assert words in faults[0][1]


def test_every_fault_of_a_file_is_told_at_once() -> None:
    def spoil(document: dict[str, Any]) -> None:
        document["walls"][0]["height_m"] = -1
        document["nodes"][0]["placement"]["height_m"] = float("nan")
        document["cues"] = []

    pointers = {pointer for pointer, _ in faults_after(spoil)}
    assert pointers == {"/walls/0/height_m", "/nodes/0/placement/height_m", "/cues"}


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("{", "not a JSON text"),
        ("[]", "one JSON object"),
        ('{"venue": {}, "venue": {}}', "stands twice"),
        (b"\xff\xfe\x00", "not a JSON text"),
        ("[" * 100_000, "nested too deep"),
    ],
)
def test_what_is_no_scene_at_all(text: str | bytes, words: str) -> None:
    with pytest.raises(SceneError, match=words):
        read(text)


def test_the_schema_accepts_what_we_write_and_refuses_what_we_refuse() -> None:
    validator = jsonschema.Draft202012Validator(schema())
    validator.check_schema(schema())
    document = json.loads(write(hall()))
    validator.validate(document)
    document["walls"][0]["colour"] = "red"
    assert not validator.is_valid(document)


def test_whole_numbers_and_decimals_give_one_fingerprint() -> None:
    document = json.loads(write(hall()))
    document["levels"][0]["width_m"] = 40
    assert fingerprint(read(json.dumps(document))) == fingerprint(hall())


def test_the_fingerprint_is_that_of_the_canonical_document() -> None:
    """It is put together from the parts' forms; RFC 8785 of the whole document says what must come out."""
    for scene in (hall(), in_order(hall()), replace(hall(), nodes=hall().nodes[::-1]), Scene(venue=hall().venue)):
        whole = rfc8785.dumps(as_document(scene))
        assert fingerprint(scene) == hashlib.sha256(whole).hexdigest()


def test_any_fact_changes_the_fingerprint() -> None:
    document = json.loads(write(hall()))
    document["walls"][0]["height_m"] = 4.01
    assert fingerprint(read(json.dumps(document))) != fingerprint(hall())
