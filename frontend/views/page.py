"""What every page has in common: it only reads, it is private, and a service's refusal becomes the right status."""

from collections.abc import Callable
from functools import wraps
from typing import Any

from django.core.exceptions import PermissionDenied
from django.http import Http404, HttpRequest, HttpResponse
from django.utils.cache import patch_cache_control
from django.views.decorators.http import require_safe

from showplan.services.errors import NotAllowed, NotFound

View = Callable[..., HttpResponse]


def page(view: View) -> View:
    """A view that only answers GET and HEAD; NotFound becomes 404, NotAllowed 403, with the service's words."""

    @require_safe
    @wraps(view)
    def guarded(request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
        try:
            response = view(request, *args, **kwargs)
        except NotFound as error:
            raise Http404(_sentence(error)) from error
        except NotAllowed as error:
            raise PermissionDenied(_sentence(error)) from error
        patch_cache_control(response, private=True, no_cache=True)
        return response

    return guarded


def _sentence(error: Exception) -> str:
    text = str(error)
    return f"{text[:1].upper()}{text[1:]}."
