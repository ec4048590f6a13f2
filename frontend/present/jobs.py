"""The jobs of a venue, and one job with its result, in words."""

from datetime import datetime
from typing import Any

from django.urls import reverse

from frontend.editing.wording import moment, unit_of
from frontend.present.heading import heading
from frontend.present.words import number
from showplan.records.models import Job, Venue
from showplan.services.errors import PlanImpossible
from showplan.services.jobs.queue import living_workers
from showplan.services.jobs.reading import jobs_of, kind_of, result_in_words
from showplan.services.planning import scene_fingerprint

MOST_SHOWN = 50
SYMBOLS = {"waiting": "·", "running": "▸", "done": "✓", "failed": "■", "cancelled": "–"}
CLASSES = {"done": "ready", "failed": "stop"}


def work_in_progress(venue: Venue) -> dict[str, Any]:
    """The list alone, as it is fetched every two seconds while something is unfinished."""
    now = fingerprint_of_now(venue)
    rows = [job_row(job, now) for job in jobs_of(venue)[:MOST_SHOWN]]
    is_unfinished = any(row["is_unfinished"] for row in rows)
    return {
        "venue": venue,
        "rows": rows,
        "is_unfinished": is_unfinished,
        "is_without_worker": is_unfinished and not living_workers().exists(),
    }


def jobs_page(venue: Venue) -> dict[str, Any]:
    """The whole page but its forms."""
    return {**heading(venue, "jobs"), **work_in_progress(venue)}


def job_page(job: Job) -> dict[str, Any]:
    """One job: what was asked for, how it fared, its result."""
    venue = job.venue
    assert venue is not None
    kind = kind_of(job)
    return {
        **heading(venue, "jobs"),
        "job": job,
        "row": job_row(job, fingerprint_of_now(venue)),
        "about": kind.about if kind else "",
        "parameters": [(label, value) for label, value, _ in _parameters(job)],
        "sentences": result_in_words(job),
        "has_result": job.result is not None,
    }


def fingerprint_of_now(venue: Venue) -> str:
    """The fingerprint of the venue's Scene; empty where its records break a rule, so every result counts as older."""
    try:
        return scene_fingerprint(venue)
    except PlanImpossible:
        return ""


def job_row(job: Job, fingerprint_now: str) -> dict[str, Any]:
    """How a job fares, in words; `fingerprint_now` is that of the venue's Scene."""
    kind = kind_of(job)
    return {
        "key": job.pk,
        "title": kind.title if kind else job.kind,
        "page": f"{reverse(kind.page, args=[job.venue_id])}?job={job.pk}" if kind and kind.page else "",
        "address": reverse("job", args=[job.pk]),
        "cancel_address": reverse("job-cancel", args=[job.pk]),
        "unusual": unusual_parameters(job),
        "state": _state_words(job),
        "symbol": SYMBOLS[job.state],
        "state_class": CLASSES.get(job.state, "open"),
        "percent": int(100 * job.done_share),
        "doing": job.doing,
        "partial": _partial_words(job, kind.measure if kind else ""),
        "problem": job.problem["detail"] if job.problem else "",
        "is_running": job.state == Job.State.RUNNING,
        "is_unfinished": not job.is_finished,
        "may_be_cancelled": not job.is_finished and not job.cancel_requested,
        "is_older": job.scene_fingerprint != fingerprint_now,
        "asked": f"{moment(job.created_at)} by {job.started_by_name}",
        "took": _took(job.started_at, job.finished_at),
    }


def unusual_parameters(job: Job) -> str:
    """What was asked for and is not what is usually asked."""
    return ", ".join(f"{label}: {value}" for label, value, is_usual in _parameters(job) if not is_usual)


def _parameters(job: Job) -> list[tuple[str, Any, bool]]:
    """Label, value in words, and whether it is the usual one, for each parameter."""
    kind = kind_of(job)
    fields = kind.parameters.model_fields if kind else {}
    found = []
    for name, value in job.parameters.items():
        field = fields.get(name)
        usual = field.default if field is not None else ...
        label = (field.title if field is not None else None) or name.replace("_", " ")
        words = "all" if value is None and field is not None and field.title else _value_words(value)
        found.append((label, words, value == (list(usual) if isinstance(usual, tuple) else usual)))
    return found


def _value_words(value: Any) -> Any:
    match value:
        case None:
            return "–"
        case bool():
            return "yes" if value else "no"
        case float():
            return number(value)
        case list():
            return ", ".join(str(_value_words(one)) for one in value) or "none"
        case dict():
            called = f"{value['name']} " if "name" in value else ""
            parts = (_part_words(name, one) for name, one in value.items() if name != "name")
            return f"{called}({', '.join(parts)})"
    return value


def _part_words(name: str, value: Any) -> str:
    """'height 3 m' for height_m."""
    unit, stem = unit_of(name)
    return f"{stem.replace('_', ' ')} {_value_words(value)} {unit}".rstrip()


def _state_words(job: Job) -> str:
    if job.cancel_requested and not job.is_finished:
        return "being cancelled"
    again = f", attempt {job.attempts}" if job.attempts > 1 and job.state == Job.State.RUNNING else ""
    return f"{job.state}{again}"


def _partial_words(job: Job, measure: str) -> str:
    partial = job.partial or {}
    unit = f" {measure}" if measure else ""
    told = {"best so far": partial.get("best"), "no answer can beat": partial.get("bound")}
    return ", ".join(f"{words} {number(value)}{unit}" for words, value in told.items() if value is not None)


def _took(started: datetime | None, finished: datetime | None) -> str:
    if started is None or finished is None:
        return ""
    seconds = (finished - started).total_seconds()
    return f"{seconds:.1f} s" if seconds < 60 else f"{seconds / 60:.1f} min"
