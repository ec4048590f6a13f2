"""The Scene as JSON: reading with every fault named, canonical writing, the fingerprint and the schema.

Canonical form: RFC 8785 (JSON Canonicalization Scheme), collections ordered by name. The fingerprint is the
SHA-256 of that form, so it depends on the facts alone: not on the order of entry nor on the database.
"""

import dataclasses
import hashlib
import json
from functools import cache, lru_cache
from operator import itemgetter
from typing import Any

import rfc8785
from pydantic import TypeAdapter, ValidationError
from pydantic_core import ErrorDetails

from showplan.planner.faults import Fault, SceneError
from showplan.planner.scene import COLLECTIONS, SCHEMA_VERSION, Scene, key_of
from showplan.planner.scene_checks import cross_faults

_adapter = TypeAdapter(Scene)
LARGEST_FILE_BYTES = 50_000_000
PARTS_KEPT = 20_000  # a large tour has some thousands; of each about 500 bytes


def read(text: str | bytes) -> Scene:
    """The Scene in a JSON text. Raises SceneError with one Fault for each thing wrong."""
    document = _parse(text)
    _refuse_other_versions(document)
    try:
        scene = _adapter.validate_json(json.dumps(document))
    except ValidationError as error:
        raise SceneError([_fault(detail) for detail in error.errors()]) from None
    return checked(scene)


def checked(scene: Scene) -> Scene:
    """The Scene in canonical order, after the checks that span several parts. Raises SceneError."""
    faults = cross_faults(scene)
    if faults:
        raise SceneError(faults)
    return in_order(scene)


def in_order(scene: Scene) -> Scene:
    """The same Scene with every collection ordered by name."""
    ordered: dict[str, Any] = {
        name: tuple(sorted(getattr(scene, name), key=lambda part: str(key_of(part)))) for name in COLLECTIONS
    }
    return dataclasses.replace(scene, **ordered)


def as_document(scene: Scene) -> dict[str, Any]:
    """The Scene as plain JSON values, collections in canonical order; optional fields without a value left out."""
    document: dict[str, Any] = _adapter.dump_python(in_order(scene), mode="json", exclude_none=True)
    return document


def write(scene: Scene) -> str:
    """The Scene as an indented JSON text for people and for files."""
    return json.dumps(as_document(scene), indent=1, ensure_ascii=False, allow_nan=False) + "\n"


def fingerprint(scene: Scene) -> str:
    """SHA-256 of the canonical form, 64 hexadecimal digits."""
    return hashlib.sha256(_canonical(scene)).hexdigest()


def _canonical(scene: Scene) -> bytes:
    """The RFC 8785 form of the Scene's document, put together from those of its parts."""
    members = []
    for name in sorted(field.name for field in dataclasses.fields(scene)):
        value = getattr(scene, name)
        if name in COLLECTIONS:
            # The order is that of `in_order`; equal keys keep their places there and here.
            parts = sorted((_canonical_part(part) for part in value), key=itemgetter(0))
            text = b"[" + b",".join(part for _, part in parts) + b"]"
        else:
            text = _canonical_part(value)[1] if name == "venue" else rfc8785.dumps(value)
        members.append(b'"' + name.encode() + b'":' + text)
    return b"{" + b",".join(members) + b"}"


@lru_cache(maxsize=PARTS_KEPT)
def _canonical_part(part: Any) -> tuple[str, bytes]:
    """The text by which a part is ordered, and its RFC 8785 form: it follows from the part's value, so it is kept."""
    kind: Any = type(part)
    document = _adapter_of(kind).dump_python(part, mode="json", exclude_none=True)
    return str(key_of(part)), rfc8785.dumps(document)


@cache
def _adapter_of(kind: Any) -> TypeAdapter[Any]:
    return TypeAdapter(kind)


def schema() -> dict[str, Any]:
    """JSON Schema (2020-12) of the Scene file."""
    return {
        "$schema": "https://json-schema.org/draft/2020-12/schema",
        "title": f"Showplan Scene, version {SCHEMA_VERSION}",
        **_adapter.json_schema(),
    }


def _parse(text: str | bytes) -> dict[str, Any]:
    if len(text) > LARGEST_FILE_BYTES:
        raise SceneError([Fault("", f"the file is larger than {LARGEST_FILE_BYTES // 1_000_000} MB")])
    try:
        document = json.loads(text, object_pairs_hook=_no_repeated_names)
    except SceneError:
        raise
    except RecursionError:
        raise SceneError([Fault("", "the JSON is nested too deep for a Scene")]) from None
    except ValueError as error:  # bad JSON, bad UTF-8
        raise SceneError([Fault("", f"not a JSON text: {error}")]) from None
    if not isinstance(document, dict):
        raise SceneError([Fault("", "a Scene file holds one JSON object")])
    return document


def _no_repeated_names(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    members = dict(pairs)
    if len(members) < len(pairs):
        names = [name for name, _ in pairs]
        repeated = next(name for name in names if names.count(name) > 1)
        raise SceneError([Fault("", f"the name {repeated!r} stands twice in one object; keep one")])
    return members


def _refuse_other_versions(document: dict[str, Any]) -> None:
    version = document.get("schema_version")
    if isinstance(version, int) and version > SCHEMA_VERSION:
        message = (
            f"the file has schema version {version}, this Showplan reads up to {SCHEMA_VERSION}: "
            "update Showplan, or export again from the older one"
        )
        raise SceneError([Fault("/schema_version", message)])


def _fault(detail: ErrorDetails) -> Fault:
    pointer = "".join(f"/{str(step).replace('~', '~0').replace('/', '~1')}" for step in detail["loc"])
    given = detail["input"]
    match detail["type"]:
        case "unexpected_keyword_argument":
            message = "unknown field: take it out or correct its name"
        case "missing" | "missing_argument" | "missing_keyword_only_argument":
            message = "is missing"
        case "finite_number":
            message = "must be a finite number, not NaN or infinity"
        case _:
            shown = f", not {given!r}" if isinstance(given, str | int | float | bool | None) else ""
            message = detail["msg"].replace("Input should be", "must be") + shown
    return Fault(pointer, message)
