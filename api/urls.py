"""Addresses of the API, version 1."""

from collections.abc import Iterator
from typing import Any

from django.urls import URLPattern, path, re_path

from api.views import (
    air,
    documentation,
    files,
    history,
    jobs,
    knowledge,
    people,
    plan_pictures,
    plans,
    power,
    projects,
    radio,
    tokens,
)
from api.views.base import UnknownAddress
from api.views.bulk import Bulk
from api.views.records import Collection, Single
from showplan.services.exchange import TABLE_NOUNS
from showplan.services.nouns import NOUNS

V1 = "v1/"
PROJECT, VENUE = f"{V1}projects/<uuid:project_id>/", f"{V1}venues/<uuid:venue_id>/"
PARENTS = {"project": PROJECT, "venue": VENUE}


def _noun_addresses() -> Iterator[URLPattern]:
    for noun in NOUNS:
        base = f"{PARENTS[noun.parent]}{noun.path}/"
        yield path(base, Collection.for_noun(noun).as_view(), name=f"api-{noun.path}")
        yield path(f"{base}bulk/", Bulk.for_noun(noun).as_view(), name=f"api-{noun.path}-bulk")
        yield path(f"{base}<uuid:record_id>/", Single.for_noun(noun).as_view(), name=f"api-{noun.path}-one")


def _at(address: str, view: Any, name: str) -> URLPattern:
    return path(address, view.as_view(), name=f"api-{name}")


urlpatterns = [
    _at(f"{V1}me/", tokens.Me, "me"),
    _at(f"{V1}tokens/", tokens.Tokens, "tokens"),
    _at(f"{V1}tokens/<uuid:record_id>/", tokens.OneToken, "tokens-one"),
    _at(f"{V1}projects/", projects.Projects, "projects"),
    _at(PROJECT, projects.OneProject, "projects-one"),
    _at(f"{PROJECT}revisions/", plans.Revisions, "revisions"),
    _at(f"{PROJECT}readiness/", plans.ProjectReadiness, "project-readiness"),
    _at(f"{PROJECT}members/", people.Members, "members"),
    _at(f"{PROJECT}members/<uuid:record_id>/", people.OneMember, "members-one"),
    _at(f"{PROJECT}invitations/", people.Invitations, "invitations"),
    _at(f"{PROJECT}invitations/<uuid:record_id>/", people.OneInvitation, "invitations-one"),
    _at(f"{V1}invitations/accept/", people.AcceptInvitation, "invitations-accept"),
    _at(f"{PROJECT}changes/", history.Changes, "changes"),
    _at(f"{PROJECT}undo/", history.Undo, "undo"),
    _at(f"{PROJECT}export/", files.ProjectExport, "project-export"),
    _at(f"{V1}projects/import/", files.ProjectImport, "project-import"),
    _at(f"{VENUE}export/", files.VenueExport, "venue-export"),
    _at(f"{PROJECT}venues/import/", files.VenueImport, "venue-import"),
    *(_at(f"{PROJECT}{noun.path}.csv", files.KitTable.for_noun(noun), f"{noun.path}-csv") for noun in TABLE_NOUNS),
    _at(f"{VENUE}readings.csv", files.ReadingTable, "readings-csv"),
    *_noun_addresses(),
    _at(f"{VENUE}levels/<uuid:level_id>/plan-picture/", plan_pictures.PlanPicture, "plan-picture"),
    _at(f"{VENUE}scene/", plans.SceneOfVenue, "scene"),
    _at(f"{VENUE}plan/", plans.Plan, "plan"),
    _at(f"{VENUE}links/", plans.Links, "links"),
    _at(f"{VENUE}routes/", plans.Routes, "routes"),
    _at(f"{VENUE}failures/", plans.Failures, "failures"),
    _at(f"{VENUE}air/", air.Air, "air"),
    _at(f"{VENUE}power/", power.Power, "power"),
    _at(f"{VENUE}air/strategies/", air.AirStrategies, "air-strategies"),
    _at(f"{VENUE}readiness/", plans.Readiness, "readiness"),
    _at(f"{VENUE}coverage/", plans.CoverageOfLevel, "coverage"),
    _at(f"{VENUE}coverage.npz", plans.CoverageArchive, "coverage-archive"),
    _at(f"{VENUE}coverage.csv", plans.CoverageTable, "coverage-table"),
    _at(f"{VENUE}spectrum/", radio.Spectrum, "spectrum"),
    _at(f"{VENUE}radio-channels/", radio.RadioChannels, "radio-channels"),
    _at(f"{VENUE}calibration-fit/", radio.CalibrationFit, "calibration-fit"),
    _at(f"{VENUE}calibration-in-use/", radio.CalibrationInUse, "calibration-in-use"),
    _at(f"{VENUE}coverage.png", plans.CoveragePicture, "coverage-picture"),
    _at(f"{VENUE}jobs/", jobs.Jobs, "jobs"),
    _at(f"{V1}jobs/<uuid:record_id>/", jobs.OneJob, "jobs-one"),
    _at(f"{V1}jobs/<uuid:record_id>/cancel/", jobs.CancelJob, "jobs-cancel"),
    _at(f"{V1}jobs/<uuid:record_id>/apply/", jobs.ApplyJob, "jobs-apply"),
    _at(f"{V1}job-kinds/", jobs.JobKinds, "job-kinds"),
    _at(f"{V1}formulas/", knowledge.Formulas, "formulas"),
    _at(f"{V1}formulas/<str:name>/", knowledge.OneFormula, "formulas-one"),
    _at(f"{V1}formulas/<str:name>/value/", knowledge.FormulaValue, "formulas-value"),
    _at(f"{V1}reference/", knowledge.ReferenceTables, "reference"),
    _at(f"{V1}reference/<str:name>/", knowledge.OneReferenceTable, "reference-one"),
    _at(f"{V1}openapi.json", documentation.Description, "description"),
    path(f"{V1}docs/", documentation.documentation, name="api-docs"),
    re_path(r"^[\s\S]*$", UnknownAddress.as_view(), name="api-unknown"),
]
