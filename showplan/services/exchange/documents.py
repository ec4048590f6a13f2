"""The outside of a document: its format, version, text form and checksum."""

import hashlib
import json
from collections.abc import Mapping
from typing import Any, Final

import rfc8785

from showplan.planner.faults import Fault
from showplan.services.errors import InvalidDocument

PROJECT_FORMAT: Final = "showplan-project"
VENUE_FORMAT: Final = "showplan-venue"
FORMAT_VERSION: Final = 1
INTO = {PROJECT_FORMAT: "import it as a project of its own", VENUE_FORMAT: "import it into a project"}


def as_text(document: Mapping[str, Any]) -> str:
    """The document indented for people, as it stands in files."""
    return json.dumps(document, indent=1, ensure_ascii=False, allow_nan=False) + "\n"


def sha256_of(document: Mapping[str, Any]) -> str:
    """SHA-256 of the content's canonical form (RFC 8785), 64 hexadecimal digits: indentation does not change it."""
    return hashlib.sha256(rfc8785.dumps(dict(document))).hexdigest()


def parse(text: str | bytes) -> Any:
    """The JSON values in a text. Raises InvalidDocument: no JSON, not UTF-8, NaN, a name twice in one object."""
    try:
        plain = text.decode("utf-8-sig") if isinstance(text, bytes) else text
        return json.loads(plain, object_pairs_hook=_no_repeated_names, parse_constant=_no_constants)
    except RecursionError:
        raise InvalidDocument([Fault("", "the JSON is nested too deep")]) from None
    except ValueError as error:
        raise InvalidDocument([Fault("", f"this is not a JSON text: {error}")]) from None


def opened(document: Any, expected: str, part: str) -> dict[str, Any]:
    """The document, after a look at its format and version; `part` is the member that must hold an object.

    Raises InvalidDocument: of another format or a newer version nothing else can be said.
    """
    if not isinstance(document, Mapping):
        raise InvalidDocument([Fault("", f"must be an object with the format {expected!r}")])
    found, version = document.get("format"), document.get("format_version")
    if found != expected:
        raise InvalidDocument([Fault("/format", _another_format(found, expected))])
    if isinstance(version, bool) or not isinstance(version, int) or version < 1:
        raise InvalidDocument([Fault("/format_version", f"must be a whole number from 1 to {FORMAT_VERSION}")])
    if version > FORMAT_VERSION:
        raise InvalidDocument([Fault("/format_version", _newer(version))])
    if not isinstance(document.get(part), Mapping):
        raise InvalidDocument([Fault(f"/{part}", "must be an object" if part in document else "is missing")])
    return dict(document)


def _another_format(found: Any, expected: str) -> str:
    if isinstance(found, str) and found in INTO:
        return f"this is a file of the format {found!r}: {INTO[found]}"
    return f"must be {expected!r}" + (f", not {found[:40]!r}" if isinstance(found, str) else "")


def _newer(version: int) -> str:
    return (
        f"the file has format version {version if version < 10**6 else 'above a million'}, this Showplan reads up to"
        f" {FORMAT_VERSION}: update Showplan, or export again from the older one"
    )


def _no_repeated_names(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    members = dict(pairs)
    if len(members) < len(pairs):
        names = [name for name, _ in pairs]
        repeated = next(name for name in names if names.count(name) > 1)
        raise ValueError(f"the name {repeated!r} stands twice in one object; keep one")
    return members


def _no_constants(name: str) -> Any:
    raise ValueError(f"{name} is not a JSON number")
