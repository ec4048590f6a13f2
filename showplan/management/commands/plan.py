"""`manage.py plan SCENE.json`: what the planner says of a Scene file. Needs no database."""

import json
import sys
from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand

from showplan.management.reports import findings_table, plan_as_dict, readiness_table
from showplan.planner.faults import SceneError
from showplan.planner.readiness import plan
from showplan.planner.scene_file import read

EXIT_BAD_INPUT = 2


class Command(BaseCommand):
    """Reads a Scene file and prints its readiness and findings."""

    help = "Plan a Scene file and print its findings; needs no database."
    requires_system_checks = ()

    def add_arguments(self, parser: ArgumentParser) -> None:
        """One file, and the form of the answer."""
        parser.add_argument("scene", help="path of a Scene JSON file, or - for standard input")
        parser.add_argument("--json", action="store_true", help="print JSON instead of a table")

    def handle(self, *, scene: str, **options: Any) -> None:
        """Print the plan; exit code 2 with one line for each fault where the file is no Scene."""
        try:
            text = sys.stdin.read() if scene == "-" else Path(scene).read_bytes()
            venue_plan = plan(parsed := read(text))
        except OSError as error:
            self.stderr.write(f"{scene}: {error.strerror}")
            sys.exit(EXIT_BAD_INPUT)
        except SceneError as error:
            for fault in error.faults:
                self.stderr.write(f"{scene}: {fault}")
            sys.exit(EXIT_BAD_INPUT)
        if options["json"]:
            self.stdout.write(json.dumps(plan_as_dict(venue_plan), indent=1, ensure_ascii=False))
            return
        self.stdout.write(f"{parsed.venue.name} ({parsed.venue.project}), fingerprint {venue_plan.fingerprint}")
        self.stdout.write(readiness_table([(parsed.venue.name, venue_plan)]))
        self.stdout.write(findings_table(venue_plan))
