"""Reading JSON bodies strictly: nothing is dropped, merged or guessed."""

import codecs
import json
from collections.abc import Mapping
from typing import IO, Any

from rest_framework.exceptions import ParseError
from rest_framework.parsers import BaseParser


class StrictJSONParser(BaseParser):
    """JSON without NaN, repeated names or endless nesting."""

    media_type = "application/json"

    def parse(self, stream: IO[bytes], media_type: str | None = None, context: Mapping[str, Any] | None = None) -> Any:
        """The document; raises ParseError with the place of the fault."""
        try:
            text = codecs.decode(stream.read(), "utf-8")
            return json.loads(text, object_pairs_hook=_no_repeats, parse_constant=_no_constants)
        except RecursionError:
            raise ParseError("the JSON is nested too deep") from None
        except ValueError as error:
            raise ParseError(f"the body is not JSON: {error}") from None


def _no_repeats(pairs: list[tuple[str, Any]]) -> dict[str, Any]:
    members = dict(pairs)
    if len(members) < len(pairs):
        names = [name for name, _ in pairs]
        raise ValueError(f"the name {next(name for name in names if names.count(name) > 1)!r} stands twice")
    return members


def _no_constants(name: str) -> Any:
    raise ValueError(f"{name} is not a JSON number")
