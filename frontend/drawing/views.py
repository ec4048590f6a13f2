"""The drawing page, for those who may edit (it opens even where the venue cannot be planned yet), and plan pictures."""

from uuid import UUID

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from frontend.drawing.presenter import drawing_page
from frontend.views.page import page
from showplan.services.plan_pictures import level_for, stored_picture
from showplan.services.rights import Caller, refuse_unless_editor, venue_for


@page
def draw(request: HttpRequest, venue_id: UUID) -> HttpResponse:
    """Draw on one level, chosen by `?level=` and its name; the lowest without it."""
    caller = Caller(request.user)
    venue = venue_for(caller, venue_id)
    refuse_unless_editor(caller, venue.project)
    return render(request, "frontend/drawing/draw.html", drawing_page(venue, request.GET.get("level", "")))


@page
def plan_picture(request: HttpRequest, venue_id: UUID, level_id: UUID) -> HttpResponse:
    """A level's plan picture, for every member of the project."""
    picture = stored_picture(level_for(venue_for(Caller(request.user), venue_id), level_id))
    headers = {"Content-Disposition": "inline", "X-Content-Type-Options": "nosniff"}
    return HttpResponse(picture.read(), content_type=picture.media_type, headers=headers)
