"""What each operation is about, takes and answers: one row for each method of each view, for the API's description.

The records of all nouns share six rows; every other endpoint has its own. To add an endpoint, add its rows.
"""

from dataclasses import dataclass
from typing import Any

from drf_spectacular.types import OpenApiTypes
from drf_spectacular.utils import OpenApiParameter

from api import (
    air_shapes,
    file_shapes,
    job_shapes,
    knowledge_shapes,
    plan_shapes,
    power_shapes,
    radio_shapes,
    relay_shapes,
    shapes,
)
from api.parameters import (
    AFTER,
    COVERAGE,
    DRY_RUN,
    FIELDS,
    FORMULA_INPUTS,
    HOUSE,
    INCLUDE,
    LAYER,
    LIMIT,
    NETWORK,
    OTHER_NAME,
    RECORD,
    REPORT,
    REVISION,
    SENDING_NETWORK,
    TABLE,
    filters_of,
)
from api.serializers import serializer_for
from api.shapes import page_of
from api.tables import CSV
from api.views import air, files, history, jobs, knowledge, people, plan_pictures, plans, power, projects, radio, tokens
from api.views.bulk import Bulk
from api.views.people import AcceptSerializer, InvitationSerializer, MemberSerializer, NewInvitationSerializer
from api.views.plan_pictures import PICTURE
from api.views.projects import ProjectSerializer
from api.views.records import Collection, NounEndpoint
from api.views.tokens import NewTokenSerializer, TokenSerializer
from showplan.services.nouns import by_path

PAGE = (LIMIT, AFTER)
PNG = "image/png"
ARCHIVE = "application/octet-stream"
PLAIN = {
    PNG: OpenApiTypes.BINARY,
    ARCHIVE: OpenApiTypes.BINARY,
    PICTURE: OpenApiTypes.BINARY,
    CSV: OpenApiTypes.STR,
}  # answers that are no JSON
MADE: dict[str, Any] = {"tagged": True, "located": True}
PLANNED = (409,)  # the venue's records break a rule of the planner


@dataclass(frozen=True)
class Operation:
    """One method of one view. `also` are the refusals that no rule of `api.refusals` brings.

    `guarded`: needs If-Match. `repeatable`: takes an Idempotency-Key. `tagged`: its answer has an ETag. `cached`: it
    heeds If-None-Match. `located`: Location says where the new thing is. `revised`: a header names the new revision.
    `waits`: Retry-After says when to look again.
    """

    summary: str
    answer: Any = None
    status: int = 200
    request: Any = None
    parameters: tuple[OpenApiParameter, ...] = ()
    also: tuple[int, ...] = ()
    guarded: bool = False
    repeatable: bool = False
    tagged: bool = False
    cached: bool = False
    located: bool = False
    revised: bool = False
    waits: bool = False
    role: str = ""


def operation_of(view: Any, method: str) -> Operation:
    """The row of a view's method. Raises KeyError where there is none: add it."""
    if isinstance(view, NounEndpoint):
        return _of_noun(view, method)
    return _of_table(view, method) if isinstance(view, files.Table) else OPERATIONS[type(view)][method]


def a(noun: str) -> str:
    """'a wall', 'an open wall': the article by the first letter, which is right for all nouns here."""
    return f"{'an' if noun[0] in 'aeio' else 'a'} {noun}"


def _of_noun(view: NounEndpoint, method: str) -> Operation:
    noun, record = view.noun, serializer_for(view.noun)
    one = a("entry of occupied spectrum" if noun.path == "occupied-spectrum" else noun.singular)
    if isinstance(view, Bulk):
        return Operation(
            f"Write many {noun.plural} at once",
            shapes.bulk_answer(noun),
            request=shapes.bulk_request(noun),
            parameters=(REPORT,),
            also=(412,),
            repeatable=True,
            role="editor or owner",
        )
    if isinstance(view, Collection):
        if method == "GET":
            return Operation(f"List {noun.plural}", page_of(record), parameters=(*PAGE, FIELDS, *filters_of(noun)))
        return Operation(
            f"Create {one}", record, 201, record, repeatable=True, role="editor or owner", **MADE, revised=True
        )
    return {
        "GET": Operation(f"Get {one}", record, parameters=(FIELDS,), tagged=True, cached=True),
        "PATCH": Operation(
            f"Change {one}", record, request=record, guarded=True, tagged=True, role="editor or owner", revised=True
        ),
        "DELETE": Operation(
            f"Delete {one}", status=204, also=(409,), guarded=True, role="editor or owner", revised=True
        ),
    }[method]


def _of_table(view: files.Table, method: str) -> Operation:
    if method == "GET":
        return Operation(f"Export {view.noun.plural} as CSV", CSV)
    return Operation(
        f"Import {view.noun.plural} from CSV",
        file_shapes.TableReport,
        request=OpenApiTypes.STR,
        parameters=(DRY_RUN,),
        repeatable=True,
        role="editor or owner",
    )


OPERATIONS: dict[Any, dict[str, Operation]] = {
    tokens.Me: {"GET": Operation("Say who calls", shapes.Me)},
    tokens.Tokens: {
        "GET": Operation("List your tokens", page_of(TokenSerializer), parameters=PAGE),
        "POST": Operation("Make a token", NewTokenSerializer, 201, TokenSerializer, also=(404,), located=True),
    },
    tokens.OneToken: {
        "GET": Operation("Get a token", TokenSerializer),
        "DELETE": Operation("Revoke a token", status=204),
    },
    projects.Projects: {
        "GET": Operation("List your projects", page_of(ProjectSerializer), parameters=PAGE),
        "POST": Operation("Start a project", ProjectSerializer, 201, ProjectSerializer, repeatable=True, **MADE),
    },
    projects.OneProject: {
        "GET": Operation("Get a project", ProjectSerializer, tagged=True, cached=True),
        "PATCH": Operation(
            "Change a project", ProjectSerializer, request=ProjectSerializer, guarded=True, tagged=True, role="owner"
        ),
        "DELETE": Operation("Delete a project", status=204, guarded=True, role="owner"),
    },
    plans.Revisions: {"GET": Operation("Get the revisions of a project and its venues", shapes.Revisions)},
    plans.ProjectReadiness: {
        "GET": Operation("Compute the readiness of a project", plan_shapes.ProjectReadiness, also=PLANNED)
    },
    files.ProjectExport: {"GET": Operation("Export a project", file_shapes.ProjectFile, tagged=True, cached=True)},
    files.VenueExport: {"GET": Operation("Export a venue", file_shapes.VenueFile, tagged=True, cached=True)},
    files.ProjectImport: {
        "POST": Operation(
            "Import a project",
            ProjectSerializer,
            201,
            file_shapes.ProjectFile,
            parameters=(OTHER_NAME,),
            repeatable=True,
            **MADE,
        ),
    },
    files.VenueImport: {
        "POST": Operation(
            "Import a venue",
            serializer_for(by_path()["venues"]),
            201,
            file_shapes.VenueFile,
            parameters=(OTHER_NAME,),
            repeatable=True,
            role="editor or owner",
            **MADE,
        ),
    },
    people.Members: {"GET": Operation("List members", page_of(MemberSerializer), parameters=PAGE)},
    people.OneMember: {
        "GET": Operation("Get a member", MemberSerializer, tagged=True),
        "PATCH": Operation(
            "Change a member",
            MemberSerializer,
            request=MemberSerializer,
            also=(409,),
            guarded=True,
            tagged=True,
            role="owner",
        ),
        "DELETE": Operation(
            "Remove a member", status=204, also=(409,), guarded=True, role="owner, or to be the member"
        ),
    },
    people.Invitations: {
        "GET": Operation("List invitations", page_of(InvitationSerializer), parameters=PAGE, role="owner"),
        "POST": Operation(
            "Invite somebody",
            NewInvitationSerializer,
            201,
            InvitationSerializer,
            repeatable=True,
            role="owner",
            **MADE,
        ),
    },
    people.OneInvitation: {
        "GET": Operation("Get an invitation", InvitationSerializer, tagged=True, role="owner"),
        "DELETE": Operation("Withdraw an invitation", status=204, guarded=True, role="owner"),
    },
    people.AcceptInvitation: {
        "POST": Operation(
            "Accept an invitation", MemberSerializer, 201, AcceptSerializer, also=(404, 409, 429), tagged=True
        ),
    },
    history.Changes: {
        "GET": Operation("List changes", page_of(shapes.Change), parameters=(*PAGE, RECORD, REVISION)),
    },
    history.Undo: {
        "POST": Operation(
            "Undo a revision", shapes.Revision, request=history.UndoSerializer, repeatable=True, role="editor or owner"
        ),
    },
    plan_pictures.PlanPicture: {
        "GET": Operation("Get the plan picture of a level", PICTURE),
        "PUT": Operation(
            "Give a level a plan picture",
            serializer_for(by_path()["levels"]),
            request=OpenApiTypes.BINARY,
            guarded=True,
            tagged=True,
            revised=True,
            role="editor or owner",
        ),
        "DELETE": Operation(
            "Take the plan picture of a level away",
            serializer_for(by_path()["levels"]),
            guarded=True,
            tagged=True,
            revised=True,
            role="editor or owner",
        ),
    },
    plans.SceneOfVenue: {"GET": Operation("Get the Scene of a venue", plan_shapes.Scene, also=PLANNED)},
    plans.Plan: {
        "GET": Operation(
            "Compute the plan of a venue",
            plan_shapes.Plan,
            parameters=(INCLUDE, HOUSE),
            also=PLANNED,
        )
    },
    plans.Links: {
        "GET": Operation("Compute the links of a venue", plan_shapes.Links, parameters=(HOUSE,), also=PLANNED)
    },
    plans.Routes: {
        "GET": Operation("Compute the routes of a venue", plan_shapes.Routes, parameters=(HOUSE,), also=PLANNED)
    },
    air.Air: {"GET": Operation("Compute the air of a venue", air_shapes.Air, parameters=(HOUSE,), also=PLANNED)},
    air.AirStrategies: {
        "GET": Operation(
            "Compare ways of sending", air_shapes.Strategies, parameters=(SENDING_NETWORK, HOUSE), also=PLANNED
        )
    },
    power.Power: {"GET": Operation("Compute the power of a venue", power_shapes.Power, also=PLANNED)},
    plans.Failures: {
        "GET": Operation("Compute what failures do", relay_shapes.Failures, parameters=(HOUSE,), also=PLANNED)
    },
    radio.Spectrum: {
        "GET": Operation("Get the spectrum of a venue", radio_shapes.Spectrum, parameters=(HOUSE,), also=PLANNED)
    },
    radio.RadioChannels: {
        "GET": Operation("Choose radio channels", radio_shapes.ChannelPlan, parameters=(HOUSE,), also=PLANNED),
        "POST": Operation(
            "Take the best radio channels in a venue",
            radio_shapes.ChannelPlan,
            parameters=(HOUSE,),
            also=PLANNED,
            repeatable=True,
            role="editor or owner",
        ),
    },
    radio.CalibrationFit: {
        "GET": Operation("Fit a venue to its walk tests", radio_shapes.Fit, parameters=(NETWORK,), also=PLANNED),
        "POST": Operation(
            "Plan a venue with its walk tests",
            radio_shapes.CalibrationName,
            parameters=(NETWORK,),
            also=PLANNED,
            repeatable=True,
            role="editor or owner",
        ),
    },
    radio.CalibrationInUse: {
        "POST": Operation(
            "Choose the calibration of a venue",
            radio_shapes.CalibrationName,
            request=radio.ChoiceSerializer,
            also=PLANNED,
            repeatable=True,
            role="editor or owner",
        ),
    },
    plans.Readiness: {"GET": Operation("Compute the readiness of a venue", plan_shapes.Readiness, also=PLANNED)},
    plans.CoverageOfLevel: {
        "GET": Operation(
            "Compute the coverage of a level", plan_shapes.Coverage, parameters=COVERAGE, also=(*PLANNED, 422)
        ),
    },
    plans.CoveragePicture: {
        "GET": Operation("Draw the coverage of a level", PNG, parameters=(*COVERAGE, LAYER), also=(*PLANNED, 422)),
    },
    plans.CoverageArchive: {
        "GET": Operation("Save the coverage of a level as arrays", ARCHIVE, parameters=COVERAGE, also=(*PLANNED, 422)),
    },
    plans.CoverageTable: {
        "GET": Operation("Save the coverage of a level as CSV", CSV, parameters=COVERAGE, also=(*PLANNED, 422)),
    },
    jobs.Jobs: {
        "GET": Operation("List jobs", page_of(job_shapes.JobSummary), parameters=PAGE),
        "POST": Operation(
            "Start a job",
            job_shapes.WholeJob,
            202,
            jobs.JobSerializer,
            also=PLANNED,
            repeatable=True,
            located=True,
            waits=True,
            role="editor or owner",
        ),
    },
    jobs.OneJob: {"GET": Operation("Get a job", job_shapes.WholeJob, waits=True)},
    jobs.CancelJob: {
        "POST": Operation("Cancel a job", job_shapes.WholeJob, repeatable=True, waits=True, role="editor or owner")
    },
    jobs.ApplyJob: {
        "POST": Operation(
            "Take a placement of relays",
            relay_shapes.AppliedPlacement,
            request=jobs.ApplySerializer,
            also=PLANNED,
            repeatable=True,
            role="editor or owner",
        )
    },
    jobs.JobKinds: {"GET": Operation("List kinds of jobs", shapes.list_of(job_shapes.JobKind))},
    knowledge.Formulas: {"GET": Operation("List formulas", shapes.list_of(knowledge_shapes.Formula))},
    knowledge.OneFormula: {"GET": Operation("Get a formula", knowledge_shapes.Formula)},
    knowledge.FormulaValue: {
        "GET": Operation("Work out a formula", knowledge_shapes.FormulaValue, parameters=(FORMULA_INPUTS,)),
    },
    knowledge.ReferenceTables: {"GET": Operation("List reference tables", knowledge_shapes.TableNames)},
    knowledge.OneReferenceTable: {
        "GET": Operation("Get a reference table", knowledge_shapes.TableRows, parameters=(TABLE,)),
    },
}
