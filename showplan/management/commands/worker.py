"""`manage.py worker`: takes waiting jobs and computes them, on this host or any other with the same database."""

from argparse import ArgumentParser
from typing import Any

from django.core.management.base import BaseCommand

from showplan.services.jobs.queue import reap
from showplan.services.jobs.worker import work


class Command(BaseCommand):
    """Runs until it is told to leave."""

    help = "Take waiting jobs, one after another; SIGTERM gives the job under way back and ends the worker."

    def add_arguments(self, parser: ArgumentParser) -> None:
        """How long to stay."""
        parser.add_argument("--once", action="store_true", help="leave as soon as no job waits")
        parser.add_argument(
            "--reap", action="store_true", help="only let the jobs of dead workers wait again, and leave"
        )
        parser.add_argument(
            "--beside", type=int, metavar="PID", help="leave when that process, which started the worker, ends"
        )

    def handle(self, **options: Any) -> None:
        """Work, or only reap."""
        if options["reap"]:
            found = reap()
            self.stdout.write(f"{found.again} wait again, {found.failed} failed for good, {found.cancelled} cancelled")
            return
        work(once=options["once"], beside=options["beside"], say=self._say)

    def _say(self, words: str) -> None:
        self.stdout.write(words)
        self.stdout.flush()
