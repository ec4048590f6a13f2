"""`manage.py scene VENUE`: the Scene of a venue as a file; `manage.py scene --schema`: its JSON schema."""

import json
import sys
from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from showplan.planner.scene_file import schema, write
from showplan.services.errors import ServiceError
from showplan.services.finding_venues import venue_named
from showplan.services.scenes import build_scene


class Command(BaseCommand):
    """Writes a Scene file."""

    help = "Write the Scene of a venue as JSON, or with --schema the schema of such files."

    def add_arguments(self, parser: ArgumentParser) -> None:
        """The venue by name or identifier."""
        parser.add_argument("venue", nargs="?", help="name or identifier of the venue")
        parser.add_argument("--project", help="name of its project, where two projects have a venue of that name")
        parser.add_argument("--output", "-o", help="file to write; without it, standard output")
        parser.add_argument("--schema", action="store_true", help="print the JSON schema of Scene files")

    def handle(self, **options: Any) -> None:
        """Write the file; exit code 1 with the reason where the venue is unknown or cannot be planned."""
        if options["schema"]:
            self.stdout.write(json.dumps(schema(), indent=1))
            return
        if not options["venue"]:
            raise CommandError("name a venue, or ask for --schema")
        try:
            text = write(build_scene(venue_named(options["venue"], options["project"])))
        except ServiceError as error:
            raise CommandError(str(error)) from error
        if options["output"]:
            try:
                Path(options["output"]).write_text(text, encoding="utf-8")
            except OSError as error:
                raise CommandError(f"{options['output']}: {error.strerror}") from error
        else:
            sys.stdout.write(text)
