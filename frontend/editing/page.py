"""What the editing pages share: who calls, which methods, and how a service's refusal reaches the reader."""

from functools import wraps
from typing import Any, Protocol

from django.core.exceptions import PermissionDenied
from django.forms import BaseForm, Field
from django.forms.utils import ErrorDict
from django.http import Http404, HttpRequest, HttpResponse
from django.utils.cache import patch_cache_control
from django.views.decorators.http import require_http_methods

from frontend.editing.wording import sentence, whole_number, with_labels
from frontend.views.page import View
from showplan.services.errors import InvalidInput, NotAllowed, NotFound
from showplan.services.rights import Caller


def form_page(view: View) -> View:
    """A view that shows a form and takes it; NotFound becomes 404, NotAllowed 403, with the service's words."""

    @require_http_methods(["GET", "HEAD", "POST"])
    @wraps(view)
    def guarded(request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
        try:
            response = view(request, *args, **kwargs)
        except NotFound as error:
            raise Http404(sentence(error)) from error
        except NotAllowed as error:
            raise PermissionDenied(sentence(error)) from error
        patch_cache_control(response, private=True, no_cache=True)
        return response

    return guarded


def shown_once(response: HttpResponse) -> HttpResponse:
    """A page with a secret: no cache keeps it, not the browser's either."""
    patch_cache_control(response, no_store=True)
    return response


def caller_of(request: HttpRequest) -> Caller:
    """The person at the page, as the services know them."""
    return Caller(user=request.user)


def version_seen(request: HttpRequest) -> int:
    """The version that a form without other fields carries; 0, which no record has, where it carries none."""
    return whole_number(request.POST.get("version", "")) or 0


def show_faults(form: BaseForm, error: InvalidInput) -> None:
    """Put each fault beside its field; what belongs to no field of the form goes to the top."""
    labels = {name: str(field.label) for name, field in form.fields.items()}
    for fault in error.faults:
        message = sentence(with_labels(fault.message, labels))
        if fault.field in form.fields:
            form.add_error(fault.field, message)
        else:
            form.add_error(None, sentence(f"{fault.field} {message}" if fault.field else message))


class Judged(Protocol):
    """What can be told of a form that was judged."""

    fields: dict[str, Field]

    @property
    def errors(self) -> ErrorDict:
        """By name of the field."""


def focus_first_fault(form: Judged) -> None:
    """Let the keyboard, and with it the screen, begin at the first field that has a fault."""
    for name, field in form.fields.items():
        if name in form.errors:
            field.widget.attrs["autofocus"] = True
            return
