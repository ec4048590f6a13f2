"""`manage.py failures VENUE [--json]`: what the loss of each gateway, relay and link does."""

import json
from argparse import ArgumentParser
from collections.abc import Iterator, Mapping
from typing import Any

from django.core.management.base import BaseCommand

from showplan.management.refusals import refusals
from showplan.planner.obstacles import HOUSE_STATES
from showplan.services.failures import failures_of
from showplan.services.finding_venues import venue_named


class Command(BaseCommand):
    """Prints the failure view of one venue."""

    help = "Say what the loss of each gateway, relay and link in use does to a venue's networks."

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Which venue, which state of the house, and the form of the answer."""
        parser.add_argument("venue", help="name or identifier of the venue")
        parser.add_argument("--project", help="name of its project, where several venues share a name")
        parser.add_argument("--house", choices=HOUSE_STATES, default="", help="default: the harder of the two")
        parser.add_argument("--json", action="store_true", help="print JSON instead of text")

    def handle(self, **options: Any) -> None:
        """Print the view; exit code 1 with the reason where the venue cannot be planned."""
        with refusals(self):
            found = failures_of(venue_named(options["venue"], options["project"]), options["house"])
            if options["json"]:
                self.stdout.write(json.dumps(found, indent=1, ensure_ascii=False))
                return
            for network in found["networks"]:
                self.stdout.write("\n".join(_lines(network)))


def _lines(network: Mapping[str, Any]) -> Iterator[str]:
    yield f"\n{network['network']}: {network['reached']} nodes reached, worst delivery {network['worst_delivery']:.1%}"
    pair = [network["worst_pair"]] if network["worst_pair"] else []
    for failure in (*network["nodes"], *network["links"], *pair):
        lost = " - ".join(failure["lost"]) if failure["kind"] == "link" else " and ".join(failure["lost"])
        yield f"  without {lost}: {_harm(failure)}"


def _harm(failure: Mapping[str, Any]) -> str:
    dark, weakened = failure["dark"], failure["weakened"]
    parts = [f"dark: {', '.join(dark)}"] if dark else []
    if weakened:
        worst = weakened[0]
        also = f" and {len(weakened) - 1} more" if len(weakened) > 1 else ""
        parts.append(f"weaker: {worst['node']} {worst['before']:.1%} to {worst['after']:.1%}{also}")
    return "; ".join(parts) or "nobody goes dark, nobody is weaker"
