"""Signing in, with a brake on guessing."""

from typing import Any

from django.contrib.auth.views import LoginView
from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from frontend.editing.wording import sentence
from showplan.services.sign_in import TooManyTries, begin_try, note_success

TOO_MANY = 429


class SignIn(LoginView):
    """The form for name and password; the answer is the same for an unknown name and a wrong password."""

    template_name = "frontend/sign-in.html"
    redirect_authenticated_user = True

    def post(self, request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
        """Count the try, then look at the password."""
        try:
            begin_try(request.POST.get("username", ""), _address(request))
        except TooManyTries as error:
            page = render(request, "frontend/editing/too-many-tries.html", {"words": sentence(error)}, status=TOO_MANY)
            page["Retry-After"] = str(error.wait_s)
            return page
        return super().post(request, *args, **kwargs)

    def form_valid(self, form: Any) -> HttpResponse:
        """Forget the failures of whoever knows the password."""
        note_success(self.request.POST.get("username", ""), _address(self.request))
        return super().form_valid(form)


def _address(request: HttpRequest) -> str:
    """The address of the connection itself: what a header claims about it can be made up."""
    return str(request.META.get("REMOTE_ADDR") or "unknown")
