"""`manage.py formulas`: the published formulas the planner uses, with units and sources."""

import json
from argparse import ArgumentParser
from collections.abc import Iterator
from typing import Any

from django.core.management.base import BaseCommand

from showplan.physics.catalogue import Formula, catalogue


class Command(BaseCommand):
    """Prints the formula catalogue as text or JSON; needs no database."""

    help = "List the published formulas with their parameters, units and sources."
    requires_system_checks = ()

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Declare the options."""
        parser.add_argument("--json", action="store_true", help="print a JSON list instead of text")

    def handle(self, *args: Any, **options: Any) -> None:
        """Print the catalogue."""
        formulas = catalogue().values()
        if options["json"]:
            rows = [formula.as_dict() for formula in formulas]
            self.stdout.write(json.dumps(rows, indent=2, ensure_ascii=False))
            return
        for formula in formulas:
            self.stdout.write("\n".join(_lines(formula)) + "\n")


def _lines(formula: Formula) -> Iterator[str]:
    unit = f" in {formula.result_unit}" if formula.result_unit else ""
    yield f"{formula.name}: {formula.meaning}"
    yield f"    {formula.expression}{unit}"
    for parameter in formula.parameters:
        default = "" if parameter.default is None else f" (default {parameter.default:g})"
        yield f"    {parameter.name:<24} {parameter.unit or '-':<5} {parameter.meaning}{default}"
    source = formula.source
    place = " ".join(part for part in (source.document, source.edition, source.section) if part)
    yield f"    Source: {place} [{source.standing}]. Valid: {formula.validity}."
