"""The API's description (OpenAPI 3.1), made from the views: shapes, parameters, every status, and the scope needed."""

from collections.abc import Mapping
from typing import Any

from django.db import models
from drf_spectacular.extensions import OpenApiAuthenticationExtension
from drf_spectacular.openapi import AutoSchema
from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter, OpenApiResponse

from api.callers import scope_of
from api.filters import PAGE_PARAMETERS
from api.paging import MOST
from api.views.bulk import REPORTS, Bulk
from api.views.records import Collection, NounEndpoint, Single

VERBS = {"GET": "get", "POST": "create", "PATCH": "change", "DELETE": "delete"}
# What each method may answer besides success.
REFUSALS = {
    "GET": (400, 401, 403, 404, 406, 413, 500),
    "POST": (400, 401, 403, 404, 406, 409, 412, 413, 415, 422, 429, 500),
    "PATCH": (400, 401, 403, 404, 406, 409, 412, 413, 415, 422, 428, 500),
    "DELETE": (400, 401, 403, 404, 406, 409, 412, 413, 428, 500),
}
ON_COMPUTED = (409, 422)
QUERY = {
    "CoverageOfLevel": {"level": str, "network": str, "sender": str, "step_m": float, "height_m": float},
    "CoveragePicture": {"level": str, "network": str, "sender": str, "step_m": float, "height_m": float},
    "Changes": {"limit": int, "after": str, "record_id": "uuid", "revision": int},
}
REQUIRED_QUERY = {"level", "network"}


class BearerScheme(OpenApiAuthenticationExtension):
    """How the description shows bearer tokens."""

    target_class = "api.callers.BearerAuthentication"
    name = "bearer"

    def get_security_definition(self, auto_schema: AutoSchema) -> dict[str, str]:
        """RFC 6750."""
        return {"type": "http", "scheme": "bearer", "description": "a token such as spt_..."}


class Schema(AutoSchema):
    """Describes our endpoints from their nouns and from `api.shapes`."""

    def get_tags(self) -> list[str]:
        """The noun."""
        return [self.view.schema_tag]

    def get_operation_id(self) -> str:
        """Verb and view, e.g. list-node, create-node."""
        name = type(self.view).__name__
        verb = "list" if isinstance(self.view, Collection) and self.method == "GET" else VERBS[self.method]
        return f"{verb}-{name}"

    def get_description(self) -> str:
        """The method's docstring and the scope that a token needs."""
        handler = getattr(self.view, self.method.lower())
        return f"{(handler.__doc__ or '').strip()} A token needs the scope `{self._scope()}`."

    def get_summary(self) -> str:
        """What it is about, in a few words."""
        return (type(self.view).__doc__ or type(self.view).__mro__[1].__doc__ or "").strip().splitlines()[0]

    def get_extensions(self) -> dict[str, Any]:
        """The scope, for programs."""
        return {"x-scope": self._scope()}

    def get_request_serializer(self) -> Any:
        """The body of a POST or PATCH."""
        return self._shape()[0]

    def get_response_serializers(self) -> Any:
        """Every status with its shape."""
        from api.shapes import Problem

        _, status, answer = self._shape()
        media_types = ["image/png"] if answer == "image/png" else ["application/json"]
        success = OpenApiTypes.BINARY if answer == "image/png" else answer
        found: dict[Any, Any] = {(status, media) if success else status: success for media in media_types}
        if isinstance(self.view, Single) and self.method == "GET":
            found[304] = OpenApiResponse(description="the caller has this version already")
        refusals = set(REFUSALS[self.method])
        if self._scope() == "compute":
            refusals.update(ON_COMPUTED)
        return found | {(refusal, "application/problem+json"): Problem for refusal in sorted(refusals)}

    def get_override_parameters(self) -> list[OpenApiParameter]:
        """Query parameters and the headers that guard writes."""
        return [*self._query(), *self._headers()]

    def _scope(self) -> str:
        return scope_of(self.view, self.method)

    def _shape(self) -> tuple[Any, int, Any]:
        from api import shapes

        view = self.view
        if not isinstance(view, NounEndpoint):
            return shapes.SHAPES[type(view).__name__][self.method]
        record = shapes.serializer_for(view.noun)
        if isinstance(view, Bulk):
            return shapes.bulk_request(view.noun), 200, shapes.BulkAnswer
        if isinstance(view, Collection):
            return (None, 200, shapes.page_of(record)) if self.method == "GET" else (record, 201, record)
        return {"GET": (None, 200, record), "PATCH": (record, 200, record), "DELETE": (None, 204, None)}[self.method]

    def _query(self) -> list[OpenApiParameter]:
        view, name = self.view, type(self.view).__name__
        if isinstance(view, Bulk):
            return [OpenApiParameter("report", str, enum=REPORTS, description="one entry for each row")]
        if self.method != "GET":
            return []
        if isinstance(view, Single):
            return [_parameter("fields", str)]
        if isinstance(view, Collection):
            return [*(_parameter(name, *_kind_of(name)) for name in PAGE_PARAMETERS), *_filters(view)]
        if name == "FormulaValue":
            return []
        pages = {"limit": int, "after": str} if name in ("Tokens", "Projects", "Members", "Invitations") else {}
        return [_parameter(key, kind) for key, kind in (QUERY.get(name) or pages).items()]

    def _headers(self) -> list[OpenApiParameter]:
        if self.method in ("PATCH", "DELETE") and type(self.view).__name__ != "OneToken":
            text = "the ETag of the version you saw, or *"
            return [OpenApiParameter("If-Match", str, "header", required=True, description=text)]
        if self.method == "POST" and type(self.view).__name__ not in ("Tokens", "AcceptInvitation"):
            text = "the same key again gets the same answer, and no second effect"
            return [OpenApiParameter("Idempotency-Key", str, "header", description=text)]
        return []


def _kind_of(name: str) -> tuple[Any]:
    return (int,) if name == "limit" else (str,)


def _parameter(name: str, kind: Any) -> OpenApiParameter:
    if name == "limit":
        return OpenApiParameter(name, {"type": "integer", "minimum": 1, "maximum": MOST}, description="records a page")
    if kind == "uuid":
        return OpenApiParameter(name, OpenApiTypes.UUID)
    return OpenApiParameter(name, kind, required=name in REQUIRED_QUERY)


def _filters(view: Collection) -> list[OpenApiParameter]:
    fields = {field.name: field for field in view.noun.fields}
    return [OpenApiParameter(name, _filter_type(fields[name])) for name in view.noun.filters]


def _filter_type(field: "models.Field[Any, Any]") -> Any:
    kinds: list[tuple[type, Any]] = [
        (models.ForeignKey, OpenApiTypes.UUID),
        (models.BooleanField, {"type": "string", "enum": ["true", "false"]}),
        (models.IntegerField, OpenApiTypes.INT),
        (models.DateField, OpenApiTypes.DATE),
    ]
    return next((found for kind, found in kinds if isinstance(field, kind)), OpenApiTypes.STR)


def only_always_there(result: dict[str, Any], **_: Any) -> dict[str, Any]:
    """Records may come with fewer fields (`?fields=`): require only what is always there."""
    from api.serializers import serializer_for
    from showplan.services.nouns import NOUNS

    schemas: Mapping[str, Any] = result["components"]["schemas"]
    for noun in NOUNS:
        name = serializer_for(noun).__name__.removesuffix("Serializer")
        if name in schemas:
            schemas[name]["required"] = ["id", "version"]
    return result
