"""CSV in and out of the API: the body of a call as it came, the table of an answer as it is."""

from collections.abc import Mapping
from typing import IO, Any

from rest_framework.parsers import BaseParser
from rest_framework.renderers import BaseRenderer, JSONRenderer

CSV = "text/csv"


class CsvParser(BaseParser):
    """The bytes of a CSV body; the service reads them and names the line of each fault."""

    media_type = CSV

    def parse(
        self, stream: IO[bytes], media_type: str | None = None, context: Mapping[str, Any] | None = None
    ) -> bytes:
        """The body."""
        return stream.read()


class CsvRenderer(BaseRenderer):
    """A table for those who ask for CSV; problem documents, which have their own media type, stay JSON."""

    media_type = CSV
    format = "csv"
    charset = "utf-8"

    def render(
        self, data: Any, accepted_media_type: str | None = None, renderer_context: Mapping[str, Any] | None = None
    ) -> bytes:
        """The bytes of the answer."""
        if isinstance(data, str):
            return data.encode()
        return bytes(JSONRenderer().render(data, accepted_media_type, renderer_context))
