"""Addresses of the team's pages."""

from django.contrib.auth.views import LoginView, LogoutView
from django.urls import URLPattern, path

from frontend.views import formulas, projects, reference, venues

urlpatterns: list[URLPattern] = [
    path(
        "sign-in/",
        LoginView.as_view(template_name="frontend/sign-in.html", redirect_authenticated_user=True),
        name="sign-in",
    ),
    path("sign-out/", LogoutView.as_view(), name="sign-out"),
    path("", projects.projects, name="projects"),
    path("projects/<uuid:project_id>/", projects.project, name="project"),
    path("venues/<uuid:venue_id>/", venues.venue, name="venue"),
    path("venues/<uuid:venue_id>/coverage.png", venues.coverage, name="coverage"),
    path("venues/<uuid:venue_id>/scene.json", venues.scene_file, name="scene-file"),
    path("formulas/", formulas.formulas, name="formulas"),
    path("formulas/<slug:name>/", formulas.formula, name="formula"),
    path("reference/", reference.tables, name="reference"),
]
