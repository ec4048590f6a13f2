"""The API's description (OpenAPI 3.1), made from the views and the rows of `api.operations`."""

from collections.abc import Mapping
from typing import Any

from drf_spectacular.extensions import OpenApiAuthenticationExtension
from drf_spectacular.openapi import AutoSchema
from drf_spectacular.utils import OpenApiParameter

from api.callers import scope_of
from api.operations import PLAIN, Operation, operation_of
from api.parameters import IDEMPOTENCY_KEY, IF_MATCH, IF_NONE_MATCH
from api.refusals import reference_to, refusals_of, text_header
from api.repeats import REPLAYED
from api.serializers import serializer_for
from api.shapes import Problem
from api.views.records import REVISION_HEADER
from showplan.services.nouns import NOUNS

ARTICLES = {"a", "an", "the"}
SUCCESS = {200: "done", 201: "made", 202: "asked for; look again", 204: "done; there is nothing to answer"}


class BearerScheme(OpenApiAuthenticationExtension):
    """How the description shows bearer tokens."""

    target_class = "api.callers.BearerAuthentication"
    name = "bearer"

    def get_security_definition(self, auto_schema: AutoSchema) -> dict[str, str]:
        """RFC 6750."""
        return {"type": "http", "scheme": "bearer", "description": "a token such as spt_..."}


class Schema(AutoSchema):
    """Describes one method of one view."""

    @property
    def row(self) -> Operation:
        """What `api.operations` says of it."""
        return operation_of(self.view, self.method)

    @property
    def scope(self) -> str:
        """The scope that a token needs."""
        return scope_of(self.view, self.method)

    def get_operation(self, *args: Any) -> dict[str, Any] | None:
        """The operation with the headers of its answer and every way it may refuse."""
        operation: dict[str, Any] | None = super().get_operation(*args)
        if operation is None:
            return None
        self.resolve_serializer(Problem, "response")  # the shared refusals point to it
        responses = operation["responses"]
        headers = _answer_headers(self.row)
        success = responses[str(self.row.status)]
        success["description"] = SUCCESS[self.row.status]
        if headers:
            success["headers"] = headers
        if self.row.cached:
            responses["304"] = {"description": "you have this version already"}
        for status in sorted(refusals_of(self.row, self.path)):
            responses[str(status)] = reference_to(status)
        return operation

    def get_tags(self) -> list[str]:
        """The noun."""
        return [self.view.schema_tag]

    def get_operation_id(self) -> str:
        """The summary as one word: list-nodes, create-node."""
        return "-".join(word for word in self.row.summary.lower().split() if word not in ARTICLES)

    def get_summary(self) -> str:
        """What it does, in a few words."""
        return self.row.summary

    def get_description(self) -> str:
        """The method's docstring, the role a person needs and the scope a token needs."""
        doc = " ".join((getattr(self.view, self.method.lower()).__doc__ or "").split())
        role = f" Needs the role {self.row.role}." if self.row.role and "role" not in doc else ""
        return f"{doc}{role} A token needs the scope `{self.scope}`."

    def get_extensions(self) -> dict[str, Any]:
        """The scope, for programs."""
        return {"x-scope": self.scope}

    def get_request_serializer(self) -> Any:
        """The body of a POST or PATCH."""
        return self.row.request

    def get_response_serializers(self) -> Any:
        """Success; `get_operation` adds the refusals."""
        row = self.row
        if row.answer is None:
            return {row.status: None}
        if row.answer in PLAIN:
            return {(row.status, row.answer): PLAIN[row.answer]}
        return {(row.status, "application/json"): row.answer}

    def get_override_parameters(self) -> list[OpenApiParameter]:
        """Query parameters, and the headers that guard writes."""
        row = self.row
        headers = {IF_MATCH: row.guarded, IDEMPOTENCY_KEY: row.repeatable, IF_NONE_MATCH: row.cached}
        return [*row.parameters, *(header for header, taken in headers.items() if taken)]


def _answer_headers(row: Operation) -> dict[str, Any]:
    headers = {}
    if row.tagged:
        headers["ETag"] = text_header("the version; send it in If-Match with the next write")
    if row.located:
        headers["Location"] = text_header("address of what was made")
    if row.revised:
        headers[REVISION_HEADER] = text_header("the project's revision after this write: what undo takes")
    if row.waits:
        headers["Retry-After"] = text_header("seconds after which to look again, until it has ended")
    if row.repeatable:
        headers[REPLAYED] = text_header("true where this is the kept answer of the first such call")
    return headers


def only_always_there(result: dict[str, Any], **_: Any) -> dict[str, Any]:
    """Records may come with fewer fields (`?fields=`): require only what is always there."""
    schemas: Mapping[str, Any] = result["components"]["schemas"]
    for noun in NOUNS:
        name = serializer_for(noun).__name__.removesuffix("Serializer")
        if name in schemas:
            schemas[name]["required"] = ["id", "version"]
    return result
