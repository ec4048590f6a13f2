"""The formula catalogue and a quick sum with one of its formulas."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from frontend.present.formulas import catalogue_page, formula_page
from frontend.views.page import page


@page
def formulas(request: HttpRequest) -> HttpResponse:
    """Every published formula by family."""
    return render(request, "frontend/formulas.html", catalogue_page())


@page
def formula(request: HttpRequest, name: str) -> HttpResponse:
    """One formula; its parameters in the query give a sum."""
    return render(request, "frontend/formula.html", formula_page(name, request.GET.dict()))
