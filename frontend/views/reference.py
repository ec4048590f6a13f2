"""The dated reference tables."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from frontend.present.reference import reference_page
from frontend.views.page import page


@page
def tables(request: HttpRequest) -> HttpResponse:
    """Materials, PHYs, regions and their rules, environments, body loss: each row with its source."""
    return render(request, "frontend/reference.html", reference_page())
