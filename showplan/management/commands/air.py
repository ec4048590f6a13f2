"""`manage.py air VENUE [--strategies NETWORK] [--json]`: does the data fit, network by network."""

import json
from argparse import ArgumentParser
from collections.abc import Iterator, Mapping
from typing import Any

from django.core.management.base import BaseCommand

from showplan.management.refusals import refusals
from showplan.planner.obstacles import HOUSE_STATES
from showplan.services.air import air_of_venue, strategies_of_venue
from showplan.services.finding_venues import venue_named


class Command(BaseCommand):
    """Prints the air of one venue, or ways of sending one network's show."""

    help = "Say for each network of a venue which refresh rate fits, what limits it, and how late levels arrive."

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Which venue, which state of the house, what to say and in which form."""
        parser.add_argument("venue", help="name or identifier of the venue")
        parser.add_argument("--project", help="name of its project, where several venues share a name")
        parser.add_argument("--house", choices=HOUSE_STATES, default="", help="default: the harder of the two")
        parser.add_argument("--strategies", metavar="NETWORK", help="compare ways of sending this network's show")
        parser.add_argument("--json", action="store_true", help="print JSON instead of text")

    def handle(self, **options: Any) -> None:
        """Print it; exit code 1 with the reason where the venue cannot be planned."""
        with refusals(self):
            venue, house, network = venue_named(options["venue"], options["project"]), options["house"], None
            if network := options["strategies"]:
                found = strategies_of_venue(venue, network, house)
                lines = _strategy_lines(found)
            else:
                found = air_of_venue(venue, house)
                lines = (line for one in found["networks"] for line in _network_lines(one))
            text = json.dumps(found, indent=1, ensure_ascii=False) if options["json"] else "\n".join(lines)
            self.stdout.write(text)


def _network_lines(network: Mapping[str, Any]) -> Iterator[str]:
    verdict = "fits" if network["fits"] else "does not fit"
    wanted = f"{network['network']}: {network['wanted_hz']:g} frames a second wanted"
    yield f"{wanted}, {verdict}: {network['limit']['reason']}"
    if load := network["timeline"]:
        changes = load["changes"]
        yield (
            f"  timeline {load['timeline']}: {changes['peak']:.1%} of the levels change in a frame of the busiest"
            f" second, at {changes['peak_at_s']:g} s: {network['packets']:.3g} packets,"
            f" {network['air_time_ms']:.1f} ms on the air a frame; as a mean {changes['mean']:.1%},"
            f" {load['mean_packets']:.3g} packets, {load['mean_air_time_ms']:.1f} ms"
        )
    for part in network["where_the_time_goes"]:
        yield f"  {part['name']}: {part['mean_ms']:.1f} ms, {part['longest_ms']:.1f} ms at the longest"
    for node in network["nodes"]:
        if node["slots"]:
            latency = node["latency"]
            late = f"{latency['p95_ms']:.0f} ms for 95 %" if latency else "never"
            yield (
                f"  {node['label']}: {node['slots']} slots, channel load {node['channel_load']:.1%},"
                f" delivery {node['delivery']:.1%}, latency {late}"
            )


def _strategy_lines(found: Mapping[str, Any]) -> Iterator[str]:
    for one in found["strategies"]:
        late = f"{one['latency_ms']:.0f} ms" if one["latency_ms"] is not None else "never there"
        marks = "".join(mark for mark, holds in ((" (best)", one["is_best"]), (" (now)", one["is_present"])) if holds)
        rate = "no limit" if one["refresh_hz"] is None else f"{one['refresh_hz']:.1f} Hz"
        numbers = f"{rate}, {late}, delivery {one['delivery']:.1%}, {one['energy_mj']:.2f} mJ a frame"
        yield f"{one['in_words']}{marks}: {numbers}"
        if one["reason"]:
            yield f"  {one['reason']}"
    if found["split"]:
        yield found["split"]["reason"]
