"""Tokens of the caller's, for scripts."""

from typing import Any
from uuid import UUID

from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response

from api.callers import caller_of
from api.fields import KeyField, StrictCharField, StrictIntegerField, StrictUUIDField
from api.filters import refuse_unknown_parameters
from api.paging import page_of
from api.serializers import StrictSerializer
from api.views.base import Endpoint
from showplan.records.models import Token, User
from showplan.services.errors import NotAllowed
from showplan.services.rights import SCOPES, one_of, project_for
from showplan.services.tokens import make_token, revoke_token, tokens_of

COLUMNS = ("id", "name", "prefix", "project", "created_at", "expires_at", "last_used_at", "revoked_at")
SCOPE_COLUMNS = tuple(f"can_{scope}" for scope in SCOPES)


class TokenSerializer(StrictSerializer):
    """A script's key. `project` null: every project of its user."""

    id = serializers.UUIDField(read_only=True)
    name = StrictCharField(max_length=80)
    prefix = serializers.CharField(read_only=True, help_text="the first letters of the token, to tell it from others")
    project = StrictUUIDField(required=False, allow_null=True)
    scopes = serializers.ListField(child=KeyField(choices=SCOPES), min_length=1, max_length=3)
    days = StrictIntegerField(write_only=True, min_value=1, max_value=730, required=False, default=90)
    created_at = serializers.DateTimeField(read_only=True)
    expires_at = serializers.DateTimeField(read_only=True)
    last_used_at = serializers.DateTimeField(read_only=True, allow_null=True)
    revoked_at = serializers.DateTimeField(read_only=True, allow_null=True)


class NewTokenSerializer(TokenSerializer):
    """A token as it is answered once, when it is made."""

    token = serializers.CharField(read_only=True, help_text="told this once; it is not kept")


class Tokens(Endpoint):
    """The caller's tokens."""

    schema_tag = "tokens"
    own_parameters = True

    def get(self, request: Request) -> Response:
        """A page of the caller's tokens; their texts are not kept."""
        refuse_unknown_parameters(request, ("limit", "after"))
        page = page_of(request, tokens_of(self.caller), (*COLUMNS, *SCOPE_COLUMNS), "created_at")
        for item in page["items"]:
            item["scopes"] = [scope for scope in SCOPES if item.pop(f"can_{scope}")]
        return Response(page)

    def post(self, request: Request) -> Response:
        """A new token; the answer tells its text, once. People make tokens; a token cannot make another."""
        if self.caller.token is not None:
            raise NotAllowed("a token cannot make another: sign in on the page, or use the command line")
        # Never kept under an Idempotency-Key: the answer holds a secret.
        given = TokenSerializer(data=request.data)
        given.is_valid(raise_exception=True)
        values = dict(given.validated_data)
        key = values.pop("project", None)
        project = project_for(self.caller, key) if key is not None else None
        assert isinstance(self.caller.user, User)
        token, text = make_token(user=self.caller.user, project=project, **values)
        address = request.build_absolute_uri(f"{request.path}{token.pk}/")
        return Response({**token_values(token), "token": text}, 201, headers={"Location": address})


class OneToken(Endpoint):
    """One token of the caller's."""

    schema_tag = "tokens"

    def get(self, request: Request, record_id: UUID) -> Response:
        """The token, without its text."""
        return Response(token_values(one_of(tokens_of(self.caller), record_id, "token")))

    def delete(self, request: Request, record_id: UUID) -> Response:
        """Revoke it; it opens nothing from now on."""
        revoke_token(self.caller, str(record_id))
        return Response(status=204)


class Me(Endpoint):
    """Who the service takes the caller for."""

    schema_tag = "me"

    def get(self, request: Request) -> Response:
        """Name, and scopes where a token is used."""
        caller = caller_of(request)
        token = caller.token
        return Response(
            {
                "id": caller.user.pk,
                "username": caller.user.get_username(),
                "token": token_values(token) if token else None,
            }
        )


def token_values(token: Token) -> dict[str, Any]:
    """A token as JSON values, without its text."""
    values = {name: getattr(token, name) for name in COLUMNS if name != "project"}
    return {**values, "project": token.project_id, "scopes": list(token.scopes)}
