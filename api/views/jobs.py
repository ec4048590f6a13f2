"""Long computations of a venue: asked for, looked at until they are done, taken back."""

from dataclasses import asdict, replace
from typing import Any, ClassVar
from uuid import UUID

from rest_framework import serializers
from rest_framework.request import Request
from rest_framework.response import Response
from rest_framework.reverse import reverse

from api.fields import KeyField, StrictBooleanField, StrictIntegerField
from api.filters import refuse_unknown_parameters
from api.paging import page_of
from api.repeats import once
from api.serializers import StrictSerializer
from api.views.base import Endpoint
from showplan.records.models import Job
from showplan.services.errors import InvalidInput
from showplan.services.jobs.kinds import KINDS
from showplan.services.jobs.reading import SUMMARY, job_named, job_values, jobs_of
from showplan.services.jobs.starting import cancel_job, start_job
from showplan.services.relay_placing import apply_relay_job
from showplan.services.rights import refuse_unless_editor

COMPUTES = {"GET": "compute", "POST": "compute"}
LOOK_AGAIN_S = "2"


class JobSerializer(StrictSerializer):
    """What to compute. Parameters that are left out have their usual values; `/job-kinds/` lists them."""

    kind = KeyField(choices=sorted(KINDS))
    parameters = serializers.DictField(required=False, default=dict)


class JobEndpoint(Endpoint):
    """Base of what is about jobs."""

    scopes = COMPUTES
    schema_tag = "jobs"

    def answer(self, job: Job, status: int = 200, **headers: str) -> Response:
        """The job; until it ends, with the time after which to look again."""
        waits = {} if job.is_finished else {"Retry-After": LOOK_AGAIN_S}
        return Response(job_values(job), status, headers={**headers, **waits})


class Jobs(JobEndpoint):
    """The jobs of a venue."""

    own_parameters: ClassVar[bool] = True

    def get(self, request: Request, venue_id: UUID) -> Response:
        """A page of jobs, oldest first, without their results."""
        refuse_unknown_parameters(request, ("limit", "after"))
        return Response(page_of(request, jobs_of(self.venue()), SUMMARY, "created_at"))

    def post(self, request: Request, venue_id: UUID) -> Response:
        """Ask for a computation. Asking for the same again gives the same job, which may be done already: see `state`.

        The Scene is taken as it is now; what is edited later does not change the result.
        """
        venue = self.venue()
        refuse_unless_editor(self.caller, venue.project, "compute")
        return once(request, lambda: self._start(request, venue))

    def _start(self, request: Request, venue: Any) -> Response:
        given = JobSerializer(data=request.data)
        given.is_valid(raise_exception=True)
        values = given.validated_data
        try:
            job = start_job(self.caller, venue, values["kind"], values["parameters"])
        except InvalidInput as error:
            raise InvalidInput(
                replace(one, field=f"parameters/{one.field}".rstrip("/")) for one in error.faults
            ) from error
        return self.answer(job, 202, Location=reverse("api-jobs-one", args=[job.pk], request=request))


class OneJob(JobEndpoint):
    """One job."""

    def get(self, request: Request, record_id: UUID) -> Response:
        """The job with its result, as soon as there is one; until then `Retry-After` says when to look again."""
        return self.answer(job_named(self.caller, record_id))


class CancelJob(JobEndpoint):
    """Taking a job back."""

    def post(self, request: Request, record_id: UUID) -> Response:
        """Cancel the job: at once where it waits, within a few seconds where it runs. A finished job stays as it is."""
        job = job_named(self.caller, record_id)
        refuse_unless_editor(self.caller, job.project, "compute")
        return once(request, lambda: self.answer(cancel_job(self.caller, record_id)))


class ApplySerializer(StrictSerializer):
    """Which placement of the result to take: 0 is the best; whether to make the nodes that the kit lacks."""

    placement = StrictIntegerField(min_value=0, max_value=999, required=False, default=0)
    make_missing = StrictBooleanField(required=False, default=False)


class ApplyJob(Endpoint):
    """Taking what a job found over into the venue."""

    schema_tag = "jobs"

    def post(self, request: Request, record_id: UUID) -> Response:
        """Let the relays stand as a placement of this relay-placement job says, in one revision.

        409 where the venue has changed since it was planned, or the kit lacks nodes and none are to be made.
        """
        refuse_unless_editor(self.caller, job_named(self.caller, record_id).project)
        return once(request, lambda: self._apply(request, record_id))

    def _apply(self, request: Request, record_id: UUID) -> Response:
        given = ApplySerializer(data=request.data)
        given.is_valid(raise_exception=True)
        values = given.validated_data
        applied = apply_relay_job(self.caller, record_id, values["placement"], make_missing=values["make_missing"])
        return Response(asdict(applied))


class JobKinds(Endpoint):
    """What can be computed as a job."""

    schema_tag = "jobs"

    def get(self, request: Request) -> Response:
        """Every kind with the JSON schema of its parameters."""
        return Response({"items": [_kind_values(kind) for kind in KINDS.values()]})


def _kind_values(kind: Any) -> dict[str, Any]:
    words = {name: getattr(kind, name) for name in ("name", "title", "about", "measure")}
    return {**words, "parameters": kind.parameters.model_json_schema()}
