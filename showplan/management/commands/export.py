"""`manage.py export PROJECT`: a project, or with `--venue` one venue of it, as a JSON file."""

from argparse import ArgumentParser
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand

from showplan.management.refusals import refusals
from showplan.records.models import Project, Venue
from showplan.services.errors import NotFound
from showplan.services.exchange import as_text, project_document, sha256_of, venue_document
from showplan.services.finding_venues import project_named


class Command(BaseCommand):
    """Writes a file that `import` reads."""

    help = "Write a project, or one venue of it, as JSON: no members, tokens, history or plan pictures."

    def add_arguments(self, parser: ArgumentParser) -> None:
        """What to write, and where."""
        parser.add_argument("project", help="name or identifier of the project")
        parser.add_argument("--venue", help="name of the one venue to write")
        parser.add_argument("--output", "-o", help="file to write; without it, standard output")

    def handle(self, *, project: str, venue: str | None, output: str | None, **options: Any) -> None:
        """Write the file, and the SHA-256 of its content (RFC 8785) to standard error."""
        with refusals(self):
            found = project_named(project)
            document = venue_document(_venue(found, venue)) if venue else project_document(found)
            text = as_text(document)
            if output:
                Path(output).write_text(text, encoding="utf-8")
        if not output:
            self.stdout.write(text, ending="")
        self.stderr.write(f"sha256 {sha256_of(document)}")


def _venue(project: Project, name: str) -> Venue:
    found = project.venues.filter(name=name).select_related("project").first()
    if found is None:
        known = ", ".join(repr(venue.name) for venue in project.venues.all()[:20])
        raise NotFound(f"there is no venue {name!r} in {project.name!r}; known: {known or 'none at all'}")
    return found
