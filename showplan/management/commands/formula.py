"""`manage.py formula NAME parameter=value ...`: works out one published formula."""

import json
from argparse import ArgumentParser
from typing import Any

from django.core.management.base import BaseCommand

from showplan.physics.catalogue import evaluate
from showplan.physics.errors import BadParameters, FormulaError

BAD_INPUT_EXIT_CODE = 2


class Command(BaseCommand):
    """Prints value, unit, source, warnings and inputs as JSON; needs no database."""

    help = "Work out one formula, for example: formula free_space_loss_db distance_m=42 frequency_mhz=868.3"
    requires_system_checks = ()

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Declare the arguments."""
        parser.add_argument("name", help="name of the formula; list them with 'formulas'")
        parser.add_argument("assignments", nargs="*", metavar="parameter=value")
        parser.add_argument("--json", action="store_true", help="print JSON (this is what it always does)")

    def handle(self, *args: Any, **options: Any) -> None:
        """Print the result; exit with code 2 and one line per fault if the input is wrong."""
        try:
            result = _evaluated(options["name"], options["assignments"])
        except FormulaError as error:
            for fault in error.faults:
                self.stderr.write(fault)
            raise SystemExit(BAD_INPUT_EXIT_CODE) from error
        self.stdout.write(json.dumps(result, indent=2, ensure_ascii=False))


def _evaluated(name: str, assignments: list[str]) -> dict[str, Any]:
    values: dict[str, str | float] = {}
    faults: list[tuple[str, str]] = []
    for assignment in assignments:
        parameter, equals, value = assignment.partition("=")
        if not equals:
            faults.append((assignment, "is not of the form parameter=value"))
        elif parameter in values:
            faults.append((parameter, "is given twice"))
        else:
            values[parameter] = value
    try:
        result = evaluate(name, values)
    except BadParameters as error:
        raise BadParameters(name, (*faults, *error.details)) from error
    if faults:
        raise BadParameters(name, faults)
    return result.as_dict()
