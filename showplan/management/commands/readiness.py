"""`manage.py readiness [PROJECT]`: the seven questions against each venue, in the terminal."""

from argparse import ArgumentParser
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from showplan.management.reports import findings_table, readiness_table
from showplan.records.models import Project
from showplan.services.errors import ServiceError
from showplan.services.finding_venues import project_named
from showplan.services.planning import plan_project, region_conflicts


class Command(BaseCommand):
    """Plans every venue of a project, or of all projects."""

    help = "Plan every venue and print the readiness table, and where the kit meets limits along the tour."

    def add_arguments(self, parser: ArgumentParser) -> None:
        """The project, and how much to say."""
        parser.add_argument("project", nargs="?", help="name or identifier; without it, every project")
        parser.add_argument("--findings", action="store_true", help="print the findings of each venue too")

    def handle(self, **options: Any) -> None:
        """Print the tables; exit code 1 with the reason where a venue cannot be planned."""
        try:
            projects = [project_named(options["project"])] if options["project"] else list(Project.objects.all())
            for project in projects:
                planned = plan_project(project)
                self.stdout.write(f"\n{project.name}, revision {project.revision}")
                self.stdout.write(readiness_table([(one.venue.name, one.plan) for one in planned]))
                for one in planned:
                    for finding in region_conflicts(one):
                        self.stdout.write(f"{one.venue.name}, {finding.subject.name}: {finding.sentence}")
                for one in planned if options["findings"] else ():
                    self.stdout.write(f"\n{one.venue.name}, fingerprint {one.plan.fingerprint}")
                    self.stdout.write(findings_table(one.plan))
        except ServiceError as error:
            raise CommandError(str(error)) from error
