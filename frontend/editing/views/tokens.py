"""A person's own keys for scripts."""

from uuid import UUID

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect, render
from django.utils import timezone

from frontend.editing.page import caller_of, form_page, show_faults, shown_once
from frontend.editing.people_forms import TokenForm
from frontend.editing.wording import moment, sentence
from frontend.views.page import page
from showplan.records.models import Token
from showplan.services.errors import InvalidInput
from showplan.services.rights import one_of
from showplan.services.tokens import make_token, revoke_token, tokens_of

MOST_SHOWN = 200


@page
def listing(request: HttpRequest) -> HttpResponse:
    """The tokens of the person at the page."""
    found = tokens_of(caller_of(request))[:MOST_SHOWN]
    rows = [{"token": one, "state": _state(one), "is_live": _is_live(one), **_times(one)} for one in found]
    return render(request, "frontend/editing/tokens.html", {"rows": rows})


@form_page
def new(request: HttpRequest) -> HttpResponse:
    """A new token; its text is shown once."""
    caller = caller_of(request)
    form = TokenForm(caller, request.POST or None)
    if request.method == "POST" and form.is_valid():
        try:
            token, text = make_token(user=request.user, **form.cleaned_data)  # type: ignore[arg-type]
        except InvalidInput as error:
            show_faults(form, error)
        else:
            context = {"token": token, "text": text, "until": moment(token.expires_at)}
            return shown_once(render(request, "frontend/editing/token-made.html", context))
    return render(request, "frontend/editing/token-new.html", {"form": form})


@form_page
def revoke(request: HttpRequest, token_id: UUID) -> HttpResponse:
    """End a token at once."""
    caller = caller_of(request)
    if request.method == "POST":
        token = revoke_token(caller, str(token_id))
        messages.success(request, sentence(f"token {token.name} is revoked"))
        return redirect("tokens")
    token = one_of(tokens_of(caller), token_id, "token")
    return render(request, "frontend/editing/token-revoke.html", {"token": token, **_times(token)})


def _is_live(token: Token) -> bool:
    return token.revoked_at is None and token.expires_at > timezone.now()


def _state(token: Token) -> str:
    if token.revoked_at is not None:
        return f"revoked {moment(token.revoked_at)}"
    return f"{'expires' if _is_live(token) else 'expired'} {moment(token.expires_at)}"


def _times(token: Token) -> dict[str, str]:
    return {"used": moment(token.last_used_at) if token.last_used_at else "never", "scopes": ", ".join(token.scopes)}
