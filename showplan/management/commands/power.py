"""`manage.py power VENUE [--node LABEL] [--json]`: does the power last, safely?"""

import json
from argparse import ArgumentParser
from collections.abc import Iterator, Mapping
from typing import Any

from django.core.management.base import BaseCommand, CommandError

from showplan.management.refusals import refusals
from showplan.services.finding_venues import venue_named
from showplan.services.power import power_of_venue


class Command(BaseCommand):
    """Prints volts and amperes of every node, and how long each supply lasts."""

    help = "Say for each node of a venue what its outputs draw and get, and how each supply comes through the show day."

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Which venue, which node, in which form."""
        parser.add_argument("venue", help="name or identifier of the venue")
        parser.add_argument("--project", help="name of its project, where several venues share a name")
        parser.add_argument("--node", help="this node alone, point by point")
        parser.add_argument("--json", action="store_true", help="print JSON instead of text")

    def handle(self, **options: Any) -> None:
        """Print it; exit code 1 with the reason where the venue cannot be planned or has no such node."""
        with refusals(self):
            found = power_of_venue(venue_named(options["venue"], options["project"]))
        if options["node"]:
            found = {**found, **_only(found, options["node"])}
        text = json.dumps(found, indent=1, ensure_ascii=False) if options["json"] else "\n".join(_lines(found, options))
        self.stdout.write(text)


def _only(found: Mapping[str, Any], label: str) -> dict[str, Any]:
    """The node of that label and the supply that feeds it."""
    nodes = [one for one in found["nodes"] if one["node"] == label]
    if not nodes:
        known = ", ".join(one["node"] for one in found["nodes"]) or "none"
        raise CommandError(f"no node {label!r} feeds anything or has a supply; known: {known}")
    return {"nodes": nodes, "supplies": [one for one in found["supplies"] if one["supply"] == nodes[0]["supply"]]}


def _lines(found: Mapping[str, Any], options: Mapping[str, Any]) -> Iterator[str]:
    for node in found["nodes"]:
        bus_v, current = node["bus_v"], node["current"]
        yield f"{node['node']}: {bus_v['nominal']:.2f} V at its outputs, {current['nominal']:.2f} A all on"
        for output in node["outputs"]:
            yield from _output_lines(output, in_full=bool(options["node"]))
    for supply in found["supplies"]:
        yield from _supply_lines(supply)


def _output_lines(output: Mapping[str, Any], *, in_full: bool) -> Iterator[str]:
    light = output["light"]
    lit = f", light {light['near']:.0%} near and {light['far']:.0%} far" if output["kind"] in ("tape", "lamp") else ""
    flows = f"{output['current']['nominal']:.2f} A, {output['far_v']['nominal']:.2f} V at the far end"
    yield f"  {output['output']} {output['load']}: {flows}, drop {output['drop_percent']:.1f} %{lit}"
    for point in output["points"] if in_full else ():
        worst = f"worst case {point['rated_v']:.2f} V, {point['rated_a']:.2f} A"
        at = f"{point['distance_m']:.2f} m {point['name']}"
        yield f"    {at}: {point['nominal_v']:.2f} V, {point['nominal_a']:.2f} A ({worst})"


def _supply_lines(supply: Mapping[str, Any]) -> Iterator[str]:
    used = "" if supply["use"] is None else f", {supply['use']:.0%} of what it gives"
    yield f"{supply['supply']}: {max(supply['current'].values()):.2f} A at the most{used}"
    day = supply["day"]
    if day is None:
        return
    if day["hours_at_full"] is not None:
        yield f"  {day['hours_at_full']:.1f} h with everything on"
    for part in supply["parts"]:
        left = "" if part["left"] is None else f", {max(part['left'], 0):.0%} left in pack {part['pack']}"
        yield f"  {part['part']}: {part['minutes']:g} min, {part['drawn_wh']:.1f} Wh{left}"
    if supply["parts"]:
        yield f"  {day['packs_needed']} packs needed for the day, {day['packs']} there"
