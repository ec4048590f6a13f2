"""The coverage of one level, for the same choice as the venue's page: picture, values for the script, files."""

from collections.abc import Callable
from typing import Any
from uuid import UUID

from django.http import HttpRequest, HttpResponse, JsonResponse
from django.utils.cache import get_conditional_response
from django.utils.http import quote_etag
from django.utils.text import slugify

from frontend.present.choice import Choice, chosen
from frontend.present.coverage import cell_values, chosen_coverage
from frontend.views.page import page
from frontend.views.venues import planned_for
from showplan.services.coverage_files import as_csv, as_npz
from showplan.services.errors import NotFound
from showplan.services.pictures import Coverage, coverage_png


@page
def picture(request: HttpRequest, venue_id: UUID) -> HttpResponse:
    """The chosen layer as a PNG."""

    def drawn(found: Coverage, choice: Choice) -> HttpResponse:
        level: Any = choice.level
        content = coverage_png(found, level.width_m, level.depth_m, choice.layer)
        return HttpResponse(content, content_type="image/png")

    return _unless_known(request, venue_id, drawn)


@page
def values(request: HttpRequest, venue_id: UUID) -> HttpResponse:
    """Every cell's values as JSON."""
    return _unless_known(request, venue_id, lambda found, choice: JsonResponse(cell_values(found)))


@page
def table(request: HttpRequest, venue_id: UUID) -> HttpResponse:
    """The same as CSV, for spreadsheets."""
    return _unless_known(
        request, venue_id, lambda found, choice: _file(as_csv(found), "text/csv; charset=utf-8", choice, "csv")
    )


@page
def archive(request: HttpRequest, venue_id: UUID) -> HttpResponse:
    """The same as numpy's archive, each sender apart."""
    return _unless_known(
        request, venue_id, lambda found, choice: _file(as_npz(found), "application/octet-stream", choice, "npz")
    )


def _unless_known(
    request: HttpRequest, venue_id: UUID, made: Callable[[Coverage, Choice], HttpResponse]
) -> HttpResponse:
    """What `made` makes of the chosen coverage, or 304 where the browser has it already. Raises NotFound."""
    planned = planned_for(request, venue_id)
    choice = chosen(planned, request.GET)
    etag = quote_etag(f"{planned.plan.fingerprint}:{planned.plan.planner_version}:{choice.query}")
    unchanged = get_conditional_response(request, etag=etag)
    if unchanged is not None:
        return unchanged
    found = chosen_coverage(planned, choice)
    if found is None:
        raise NotFound("nothing transmits here, so there is no coverage")
    response = made(found, choice)
    response["ETag"] = etag
    return response


def _file(content: str | bytes, media_type: str, choice: Choice, ending: str) -> HttpResponse:
    level: Any = choice.level
    name = slugify(f"coverage {level.name} {choice.network} house {choice.house}") or "coverage"
    headers = {"Content-Disposition": f'attachment; filename="{name}.{ending}"'}
    return HttpResponse(content, content_type=media_type, headers=headers)
