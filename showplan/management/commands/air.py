"""`manage.py air VENUE [--strategies NETWORK | --simulate NETWORK] [--json]`: does the data fit, by network."""

import json
from argparse import ArgumentParser
from collections.abc import Iterator, Mapping
from typing import Any

from django.core.management.base import BaseCommand

from showplan.management.foreground import computed_here
from showplan.management.refusals import refusals
from showplan.planner.obstacles import HOUSE_STATES
from showplan.services.air import air_of_venue, strategies_of_venue
from showplan.services.computing import state_of
from showplan.services.errors import FieldFault, InvalidInput
from showplan.services.finding_venues import venue_named
from showplan.services.jobs.kinds.packet_simulation import KIND
from showplan.services.planning import plan_venue
from showplan.services.scenes import build_scene

# Options whose names are those of the simulation's parameters.
SIMULATION = ("seconds", "replications", "seed")


class Command(BaseCommand):
    """Prints the air of one venue, ways of sending one network's show, or what its packet simulation finds."""

    help = "Say for each network of a venue which refresh rate fits, what limits it, and how late levels arrive."

    def add_arguments(self, parser: ArgumentParser) -> None:
        """Which venue, which state of the house, what to say and in which form."""
        parser.add_argument("venue", help="name or identifier of the venue")
        parser.add_argument("--project", help="name of its project, where several venues share a name")
        parser.add_argument("--house", choices=HOUSE_STATES, default="", help="default: the harder of the two")
        parser.add_argument("--strategies", metavar="NETWORK", help="compare ways of sending this network's show")
        parser.add_argument(
            "--simulate", metavar="NETWORK", help="simulate this network, beside the figures of the plan"
        )
        parser.add_argument("--seconds", type=float, help="with --simulate: seconds of show (usual: 60)")
        parser.add_argument("--replications", type=int, help="with --simulate: how often over (usual: 10)")
        parser.add_argument("--seed", type=int, help="with --simulate: seed of the random numbers (usual: 1)")
        parser.add_argument("--json", action="store_true", help="print JSON instead of text")

    def handle(self, **options: Any) -> None:
        """Print it; exit code 1 with the reason where the venue cannot be planned."""
        with refusals(self):
            _refuse_mixed(options)
            venue, house = venue_named(options["venue"], options["project"]), options["house"]
            if network := options["simulate"]:
                state = state_of(plan_venue(venue).plan, house)
                found = computed_here(self, KIND, build_scene(venue), _simulation(options, network, state))
                lines = _simulation_lines(found)
            elif network := options["strategies"]:
                found = strategies_of_venue(venue, network, house)
                lines = _strategy_lines(found)
            else:
                found = air_of_venue(venue, house)
                lines = (line for one in found["networks"] for line in _network_lines(one))
            text = json.dumps(found, indent=1, ensure_ascii=False) if options["json"] else "\n".join(lines)
            self.stdout.write(text)


def _refuse_mixed(options: Mapping[str, Any]) -> None:
    if options["simulate"] and options["strategies"]:
        raise InvalidInput([FieldFault("--simulate", "does not go with --strategies")])
    for name in SIMULATION:
        if options[name] is not None and not options["simulate"]:
            raise InvalidInput([FieldFault(f"--{name}", "goes with --simulate")])


def _simulation(options: Mapping[str, Any], network: str, house: str) -> dict[str, Any]:
    """The parameters that were given."""
    given = {name: options[name] for name in SIMULATION if options[name] is not None}
    return {"network": network, "house": house, **given}


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


def _simulation_lines(found: Mapping[str, Any]) -> Iterator[str]:
    yield from KIND.in_words(found)
    for node in found["nodes"]:
        beside, delivery, late = node["closed_form"], node["delivery"], node["latency_ms"]["95"]
        late_words = "nothing arrives" if late["value"] is None else f"95 % within {late['value']:.1f} ms"
        yield f"  {node['node']}: delivery {delivery['value']:.2%}{_interval(delivery, '.2%')}, {late_words}" + (
            _interval(late, ".1f")
        )
        if beside:
            late_ms = beside["latency_ms"]["95"]
            closed = "no latency" if late_ms is None else f"{late_ms:.1f} ms ({beside['latency_is']['95']})"
            yield f"    closed form: {beside['delivery']:.2%} ({beside['delivery_is']}), {closed}"


def _interval(estimate: Mapping[str, float | None], form: str) -> str:
    low, high = estimate["low"], estimate["high"]
    return "" if low is None or high is None else f" ({max(low, 0.0):{form}} to {high:{form}})"


def _strategy_lines(found: Mapping[str, Any]) -> Iterator[str]:
    for one in found["strategies"]:
        late = f"{one['latency_ms']:.0f} ms" if one["latency_ms"] is not None else "never there"
        marks = "".join(mark for mark, holds in ((" (best)", one["is_best"]), (" (now)", one["is_present"])) if holds)
        energy = f"{one['energy_j_per_show_hour']:.1f} J an hour"
        numbers = f"{_rate(one['refresh_hz'])}, {late}, delivery {one['delivery']:.1%}, {energy}"
        yield f"{one['in_words']}{marks}: {numbers}"
        if one["reason"]:
            yield f"  {one['reason']}"
    yield found["energy_basis"]
    if found["split"]:
        yield found["split"]["reason"]
        for share in found["split"]["shares"]:
            yield f"  gateway at {share['gateway']}, {_rate(share['refresh_hz'])}: {', '.join(share['nodes'])}"


def _rate(rate_hz: float | None) -> str:
    return "no limit" if rate_hz is None else f"{rate_hz:.1f} Hz"
