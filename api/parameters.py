"""Query parameters and headers of the API, for its description."""

from collections.abc import Iterator
from typing import Any

from django.db import models
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter

from api.paging import DEFAULT_LIMIT, MOST
from api.repeats import LONGEST_KEY
from api.views.bulk import REPORTS
from showplan.services.computing import HOUSE_STATES, PARTS, CoverageQuery
from showplan.services.knowledge import TABLES
from showplan.services.nouns import Noun
from showplan.services.pictures import LAYERS

UUID_TEXT = {"type": "string", "format": "uuid"}


def _query(name: str, kind: Any, description: str, *, required: bool = False) -> OpenApiParameter:
    return OpenApiParameter(name, kind, required=required, description=description)


def _header(name: str, kind: Any, description: str, *, required: bool = False) -> OpenApiParameter:
    return OpenApiParameter(name, kind, OpenApiParameter.HEADER, required=required, description=description)


LIMIT = _query("limit", {"type": "integer", "minimum": 1, "maximum": MOST, "default": DEFAULT_LIMIT}, "records a page")
AFTER = _query("after", OpenApiTypes.STR, "where the page starts: take it from the `next` of the page before")
FIELDS = _query("fields", OpenApiTypes.STR, "only these fields, separated by commas; id and version always come")
REPORT = OpenApiParameter("report", str, enum=REPORTS, description="rows: one entry for each row of the call")
RECORD = _query("record_id", UUID_TEXT, "only changes of this record")
REVISION = _query(
    "revision", {"type": "integer", "minimum": 0, "maximum": 999_999_999}, "only changes of this revision"
)
_METRES = {"type": "number", "exclusiveMinimum": -1e6, "exclusiveMaximum": 1e6}
HOUSE = _query("house", {"type": "string", "enum": list(HOUSE_STATES)}, "state of the house; without it the harder one")
COVERAGE = (
    _query("level", OpenApiTypes.STR, "name of the level", required=True),
    _query("network", OpenApiTypes.STR, "name of the network", required=True),
    _query("sender", OpenApiTypes.STR, "label of one gateway or relay; without it the best of all"),
    _query("step_m", _METRES | {"default": CoverageQuery.step_m}, "side of a cell in metres"),
    _query("height_m", _METRES | {"default": CoverageQuery.height_m}, "height above the level's floor in metres"),
    HOUSE,
)
LAYER = _query("layer", {"type": "string", "enum": list(LAYERS), "default": LAYERS[0]}, "what the picture shows")
INCLUDE = OpenApiParameter(
    "include",
    {"type": "array", "items": {"type": "string", "enum": list(PARTS)}},
    explode=False,
    description="the results that are wanted, with commas between; without it all",
)
NETWORK = _query("network", OpenApiTypes.STR, "name of the network whose readings are fitted", required=True)
SENDING_NETWORK = _query("network", OpenApiTypes.STR, "name of the network", required=True)
FORMULA_INPUTS = OpenApiParameter(
    "inputs",
    {"type": "object", "additionalProperties": {"type": "number"}},
    style="form",
    explode=True,
    description="the formula's parameters by name, in their units, e.g. distance_m=10&frequency_mhz=2440",
)
TABLE = OpenApiParameter("name", str, OpenApiParameter.PATH, enum=TABLES, description="name of the table")
OTHER_NAME = _query("name", OpenApiTypes.STR, "the name it shall have instead of the one in the document")
DRY_RUN = _query(
    "dry_run", {"type": "string", "enum": ["true", "false"]}, "true: write nothing, and say what would be written"
)
IF_MATCH = _header(
    "If-Match", OpenApiTypes.STR, 'the ETag of the version you saw, such as "3", or * for any', required=True
)
IF_NONE_MATCH = _header("If-None-Match", OpenApiTypes.STR, "the ETag of the version you have: 304 where it still holds")
IDEMPOTENCY_KEY = _header(
    "Idempotency-Key",
    {"type": "string", "minLength": 1, "maxLength": LONGEST_KEY},
    "the same key again gets the same answer, and no second effect",
)


def filters_of(noun: Noun) -> Iterator[OpenApiParameter]:
    """The filters of a noun's list."""
    fields = {field.name: field for field in noun.fields}
    for name in noun.filters:
        yield _query(name, _filter_type(fields[name]), f"only {noun.plural} with this {name}")


def _filter_type(field: "models.Field[Any, Any]") -> Any:
    kinds: list[tuple[type, Any]] = [
        (models.ForeignKey, UUID_TEXT),
        (models.BooleanField, {"type": "string", "enum": ["true", "false"]}),
        (models.IntegerField, {"type": "integer"}),
        (models.DateField, {"type": "string", "format": "date"}),
    ]
    return next((found for kind, found in kinds if isinstance(field, kind)), OpenApiTypes.STR)
