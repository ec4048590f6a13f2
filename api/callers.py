"""Who calls: a person with a session, or a script with a bearer token (RFC 6750)."""

from typing import Any

from rest_framework.authentication import BaseAuthentication, get_authorization_header
from rest_framework.exceptions import AuthenticationFailed
from rest_framework.permissions import BasePermission
from rest_framework.request import Request

from showplan.records.models import Token
from showplan.services.rights import Caller
from showplan.services.tokens import token_behind

SCOPE_OF_METHOD = {"GET": "read", "OPTIONS": "read"}


class BearerAuthentication(BaseAuthentication):
    """`Authorization: Bearer spt_...`"""

    def authenticate(self, request: Request) -> tuple[Any, Token] | None:
        """The token's user and the token; None where the call carries no bearer token."""
        words = get_authorization_header(request).split()
        if not words or words[0].lower() != b"bearer":
            return None
        if len(words) != 2:
            raise AuthenticationFailed("write the header as: Authorization: Bearer TOKEN")
        token = token_behind(words[1].decode("utf-8", errors="replace"))
        if token is None:
            raise AuthenticationFailed("this token is unknown, expired or revoked")
        return token.user, token

    def authenticate_header(self, request: Request) -> str:
        """What a 401 asks for."""
        return 'Bearer realm="showplan"'


class HasScope(BasePermission):
    """A token needs the scope of the call: `view.scopes[method]`, else read for GET and write for the rest."""

    def has_permission(self, request: Request, view: Any) -> bool:
        """True, or NotAllowed that names the missing scope."""
        caller_of(request).refuse_without(scope_of(view, request.method or "GET"))
        return True


def scope_of(view: Any, method: str) -> str:
    """The scope that a method of a view needs; HEAD does the work of GET and needs the same."""
    method = "GET" if method == "HEAD" else method
    scopes: dict[str, str] = getattr(view, "scopes", {})
    return scopes.get(method, SCOPE_OF_METHOD.get(method, "write"))


def caller_of(request: Request) -> Caller:
    """The caller behind a request of the API."""
    return Caller(request.user, request.auth if isinstance(request.auth, Token) else None)
