"""Projects and venues as JSON documents, kit and readings as CSV tables: writing them out and reading them in.

Records refer to each other by the names people use, so a document carries no identifiers, versions or times of
change. Members, invitations, tokens, the history and plan pictures are not in it either: they stay with the service
that holds them.
"""

from showplan.services.exchange.documents import (
    FORMAT_VERSION,
    PROJECT_FORMAT,
    VENUE_FORMAT,
    as_text,
    parse,
    sha256_of,
)
from showplan.services.exchange.exporting import project_document, venue_document
from showplan.services.exchange.forms import KIT, list_name
from showplan.services.exchange.importing import add_venue, import_project, import_venue
from showplan.services.exchange.reading_import import READINGS, add_readings, import_readings
from showplan.services.exchange.table_export import table_of
from showplan.services.exchange.table_import import TABLE_NOUNS, add_table, import_table
from showplan.services.exchange.table_reports import TableReport

__all__ = [
    "FORMAT_VERSION",
    "KIT",
    "PROJECT_FORMAT",
    "READINGS",
    "TABLE_NOUNS",
    "VENUE_FORMAT",
    "TableReport",
    "add_readings",
    "add_table",
    "add_venue",
    "as_text",
    "import_project",
    "import_readings",
    "import_table",
    "import_venue",
    "list_name",
    "parse",
    "project_document",
    "sha256_of",
    "table_of",
    "venue_document",
]
