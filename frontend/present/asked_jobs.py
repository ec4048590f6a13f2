"""What a page that asks for one kind of job shows of it: the job it is about, how that fares, and the earlier ones."""

from dataclasses import dataclass
from textwrap import shorten
from typing import Any

from django.urls import reverse

from frontend.editing.wording import moment
from frontend.present.jobs import job_row, unusual_parameters
from showplan.records.models import Job, Venue
from showplan.services.jobs.queue import living_workers
from showplan.services.jobs.reading import jobs_of
from showplan.services.rights import one_of

MOST_LISTED = 10
LONGEST = 200  # characters of what a job in the list asked for


@dataclass(frozen=True)
class Asking:
    """A page that asks for jobs of one kind: the name of its address, the stem of its element names, its words."""

    kind: str
    page: str
    stem: str
    noun: str
    nothing_yet: str
    cancel: str

    def address(self, venue: Venue, job: Job | None = None) -> str:
        """Of the page, about one job."""
        return f"{reverse(self.page, args=[venue.pk])}{f'?job={job.pk}' if job else ''}"


def shown_job(venue: Venue, asking: Asking, wanted: str) -> Job | None:
    """The job that the page is about: the one asked for, else the latest; None where there is none yet.

    Raises NotFound.
    """
    jobs = Job.objects.filter(venue=venue, kind=asking.kind).defer("scene").select_related("project", "venue")
    return one_of(jobs, wanted, asking.noun) if wanted else jobs.first()


def progress_of(venue: Venue, asking: Asking, job: Job | None, fingerprint_now: str) -> dict[str, Any]:
    """How the job fares: what is fetched every two seconds until it ends."""
    is_unfinished = job is not None and not job.is_finished
    return {
        "venue": venue,
        "asking": asking,
        "job": job,
        "job_address": asking.address(venue, job),
        "page_address": asking.address(venue),
        "row": job_row(job, fingerprint_now) if job else None,
        "is_unfinished": is_unfinished,
        "is_without_worker": is_unfinished and not living_workers().exists(),
    }


def earlier_jobs(venue: Venue, asking: Asking, shown: Job | None) -> list[dict[str, Any]]:
    """The latest jobs of the kind, as links, told apart by what each asked for."""
    found = []
    for job in jobs_of(venue).filter(kind=asking.kind)[:MOST_LISTED]:
        asked = shorten(unusual_parameters(job), LONGEST, placeholder=" …")
        is_here = shown is not None and job.pk == shown.pk
        words = f"{moment(job.created_at)}: {job.state}; {asked}"
        found.append({"words": words, "address": asking.address(venue, job), "is_here": is_here})
    return found
