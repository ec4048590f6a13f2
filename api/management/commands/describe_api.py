"""`manage.py describe_api`: writes the API's description, or checks the one that is checked in."""

import difflib
from argparse import ArgumentParser
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from api.description import as_text, describe
from api.views.documentation import DESCRIPTION_FILE

MOST_LINES = 40


class Command(BaseCommand):
    """Needs no database."""

    help = "Write api/openapi.json from the code; with --check say whether it is up to date."
    requires_system_checks = ()

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Declare the options."""
        parser.add_argument("--check", action="store_true", help="write nothing; fail where the file differs")

    def handle(self, *args: Any, **options: Any) -> None:
        """Write or compare."""
        fresh = as_text(describe())
        if not options["check"]:
            DESCRIPTION_FILE.write_text(fresh, encoding="utf-8")
            self.stdout.write(f"{DESCRIPTION_FILE.name}: {len(fresh):,} characters written")
            return
        kept = DESCRIPTION_FILE.read_text(encoding="utf-8") if DESCRIPTION_FILE.exists() else ""
        if kept != fresh:
            raise CommandError(
                f"{DESCRIPTION_FILE.name} is not what the code describes; run describe_api\n{difference(kept, fresh)}"
            )
        self.stdout.write(f"{DESCRIPTION_FILE.name} is up to date")


def difference(kept: str, fresh: str) -> str:
    """The first lines that differ."""
    lines = list(difflib.unified_diff(kept.splitlines(), fresh.splitlines(), "checked in", "the code", "", "", 2, ""))
    more = [f"... and {len(lines) - MOST_LINES} more lines"] if len(lines) > MOST_LINES else []
    return "\n".join([*lines[:MOST_LINES], *more])
