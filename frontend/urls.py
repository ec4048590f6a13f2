"""Addresses of the team's pages."""

from django.contrib.auth.views import LogoutView
from django.urls import URLPattern, URLResolver, include, path

from frontend.views import (
    air,
    calibration,
    coverage,
    formulas,
    jobs,
    power,
    projects,
    reference,
    relays,
    spectrum,
    venues,
)

urlpatterns: list[URLPattern | URLResolver] = [
    path("", include("frontend.drawing.urls")),
    path("", include("frontend.editing.urls")),
    path("sign-out/", LogoutView.as_view(), name="sign-out"),
    path("", projects.projects, name="projects"),
    path("projects/<uuid:project_id>/", projects.project, name="project"),
    path("venues/<uuid:venue_id>/", venues.venue, name="venue"),
    path("venues/<uuid:venue_id>/coverage.png", coverage.picture, name="coverage"),
    path("venues/<uuid:venue_id>/coverage.json", coverage.values, name="coverage-values"),
    path("venues/<uuid:venue_id>/coverage.csv", coverage.table, name="coverage-table"),
    path("venues/<uuid:venue_id>/coverage.npz", coverage.archive, name="coverage-archive"),
    path("venues/<uuid:venue_id>/spectrum/", spectrum.spectrum, name="spectrum"),
    path("venues/<uuid:venue_id>/calibration/", calibration.calibration, name="calibration"),
    path("venues/<uuid:venue_id>/power/", power.power, name="power"),
    path("venues/<uuid:venue_id>/relays/", relays.relays, name="relays"),
    path("venues/<uuid:venue_id>/air/", air.air, name="air"),
    path("venues/<uuid:venue_id>/air/strategies/", air.strategies, name="air-strategies"),
    path("venues/<uuid:venue_id>/jobs/", jobs.jobs, name="jobs"),
    path("jobs/<uuid:job_id>/", jobs.job, name="job"),
    path("jobs/<uuid:job_id>/result.json", jobs.result, name="job-result"),
    path("jobs/<uuid:job_id>/cancel/", jobs.cancel, name="job-cancel"),
    path("venues/<uuid:venue_id>/scene.json", venues.scene_file, name="scene-file"),
    path("formulas/", formulas.formulas, name="formulas"),
    path("formulas/<slug:name>/", formulas.formula, name="formula"),
    path("reference/", reference.tables, name="reference"),
]
