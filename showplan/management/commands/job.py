"""`manage.py job VENUE KIND key=value ...`: asks for a long computation, and with --wait for its result."""

import json
import sys
import time
from argparse import ArgumentParser, RawDescriptionHelpFormatter
from typing import Any

from django.core.management.base import BaseCommand

from showplan.management.callers import THE_COMMAND_LINE
from showplan.management.refusals import EXIT_REFUSED, refusals
from showplan.records.models import Job
from showplan.services.errors import FieldFault, InvalidInput
from showplan.services.finding_venues import venue_named
from showplan.services.jobs.kinds import KINDS
from showplan.services.jobs.queue import living_workers
from showplan.services.jobs.reading import result_in_words
from showplan.services.jobs.starting import start_job_as

POLL_S = 0.5


class Command(BaseCommand):
    """Starts a job; a worker computes it."""

    help = "Start a job for a venue; asking for the same again gets the same job. Exit code 1 where it fails."

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Venue, kind, parameters; and whether to wait."""
        parser.formatter_class = RawDescriptionHelpFormatter
        parser.epilog = "kinds:\n" + "\n".join(
            f"  {kind.name}: {kind.about}\n      {', '.join(kind.parameters.model_fields)}" for kind in KINDS.values()
        )
        parser.add_argument("venue", help="name or identifier of the venue")
        parser.add_argument("kind", help="what to compute")
        parser.add_argument("parameters", nargs="*", metavar="key=value", help="parameters; what is left out is usual")
        parser.add_argument("--project", help="name of its project, where two projects have a venue of that name")
        parser.add_argument("--wait", action="store_true", help="print progress until it ends, then the result")
        parser.add_argument("--json", action="store_true", help="with --wait: print the whole result as JSON")

    def handle(self, **options: Any) -> None:
        """Start it, print its identifier, and wait where asked."""
        with refusals(self):
            venue = venue_named(options["venue"], options["project"])
            given = dict(_parsed(text) for text in options["parameters"])
            job = start_job_as(THE_COMMAND_LINE, venue, options["kind"], given)
        if not options["wait"]:
            self.stdout.write(f"{job.pk} {job.state}")
            return
        ended = self._waited_for(job)
        for line in result_in_words(ended) if not options["json"] else ():
            self.stdout.write(line)
        if options["json"] and ended.result is not None:
            self.stdout.write(json.dumps(ended.result, indent=1, ensure_ascii=False))
        if ended.state != Job.State.DONE:
            self.stderr.write(ended.problem["detail"] if ended.problem else f"the job was {ended.state}")
            sys.exit(EXIT_REFUSED)

    def _waited_for(self, job: Job) -> Job:
        """The job when it has ended; every change of its progress is a line on standard error."""
        told = ""
        while not job.is_finished:
            words = f"{job.state} {100 * job.done_share:.0f} % {job.doing}".rstrip()
            if job.state == Job.State.WAITING and not living_workers().exists():
                words = "waiting, but no worker is running: start one with manage.py worker"
            if words != told:
                self.stderr.write(told := words)
            time.sleep(POLL_S)
            job = Job.objects.get(pk=job.pk)
        return job


def _parsed(text: str) -> tuple[str, Any]:
    """key=value; the value is JSON (0.5, true, null), anything else a text."""
    key, sign, value = text.partition("=")
    if not sign:
        raise InvalidInput([FieldFault(text, "write parameters as key=value")])
    try:
        return key, json.loads(value)
    except ValueError:
        return key, value
