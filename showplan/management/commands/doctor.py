"""`manage.py doctor`: is this installation fit to serve?"""

import json
import sys
from argparse import ArgumentParser
from dataclasses import asdict
from typing import Any

from django.core.management.base import BaseCommand

from showplan.management.refusals import EXIT_REFUSED
from showplan.services.doctor import examine


class Command(BaseCommand):
    """Prints one line for each check, and a hint below those that do not hold."""

    help = "Check data folder, disk, database, migrations, guards, tables, key and settings; exit code 1 if any fails."
    requires_system_checks = ()

    def add_arguments(self, parser: ArgumentParser) -> None:
        """The form of the answer."""
        parser.add_argument("--json", action="store_true", help="print JSON instead of lines")

    def handle(self, **options: Any) -> None:
        """Print every finding; exit code 1 if any failed."""
        found = list(examine())
        if options["json"]:
            self.stdout.write(json.dumps([asdict(one) for one in found], indent=1, ensure_ascii=False))
        else:
            for one in found:
                self.stdout.write(f"{one.state.upper():4}  {one.check}: {one.found}")
                if one.hint:
                    self.stdout.write(f"      {one.hint}")
        if any(one.state == "fail" for one in found):
            sys.exit(EXIT_REFUSED)
