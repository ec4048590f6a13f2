"""`manage.py relays VENUE --network N --relay-type T ...`: where relays should stand, and how few.

`--apply` puts them there. It computes in the foreground by the same functions as the job of that kind; an interrupt
keeps the best so far.
"""

import json
import sys
from argparse import ArgumentParser, ArgumentTypeError
from collections.abc import Iterator, Mapping
from dataclasses import asdict
from pathlib import Path
from typing import Any

from django.core.management.base import BaseCommand

from showplan.management.callers import THE_COMMAND_LINE
from showplan.management.foreground import computed_here
from showplan.management.refusals import EXIT_REFUSED, refusals
from showplan.planner.scene_file import fingerprint
from showplan.services.errors import FieldFault, InvalidInput
from showplan.services.finding_venues import venue_named
from showplan.services.jobs.kinds.relay_placement import KIND, demands_in_words
from showplan.services.relay_placing import Applied, place_relays_as
from showplan.services.scenes import build_scene

# Options whose names are those of the wishes.
PLAIN = ("network", "relay_type", "routes", "least_delivery", "most_relays", "seconds")
LISTS = ("two_routes_for", "must", "never")
SWITCHES = ("needs_mains", "acknowledged")


class Command(BaseCommand):
    """Plans where the relays of a network stand."""

    help = "Say where a network's relays should stand, and how few are enough. Exit code 1 where there is no placement."

    def add_arguments(self, parser: ArgumentParser) -> None:
        """The venue, the wishes, and what to do with the answer."""
        parser.add_argument("venue", help="name or identifier of the venue")
        parser.add_argument("--project", help="name of its project, where several venues share a name")
        parser.add_argument(
            "--wishes", metavar="FILE", help="JSON of all wishes (see job-kinds/); options go before it"
        )
        parser.add_argument("--network", help="the network to serve")
        parser.add_argument("--relay-type", help="node type of the relays")
        parser.add_argument("--hops", type=int, dest="most_hops", help="most hops from gateway to node (usual: 4)")
        parser.add_argument("--routes", type=int, help="routes that share no relay to every node: 1 or 2")
        parser.add_argument("--two-routes-for", nargs="+", metavar="NAME", help="nodes or zones that want two")
        parser.add_argument("--least-delivery", type=float, help="share of packets that each hop delivers (usual: 0.9)")
        parser.add_argument("--most-relays", type=int, help="most relays in the truck")
        parser.add_argument("--needs-mains", action="store_true", help="relays stand only where there is mains")
        parser.add_argument("--acknowledged", action="store_true", help="links must hold in both directions")
        parser.add_argument("--must", nargs="+", metavar="SITE", help="sites where a relay must stand")
        parser.add_argument("--never", nargs="+", metavar="SITE", help="sites where no relay may stand")
        for name, words in (("grid", "on a grid over a level"), ("edges", "along the walls and edges of a level")):
            parser.add_argument(
                f"--{name}",
                nargs=3,
                action="append",
                metavar=("LEVEL", "STEP_M", "HEIGHT_M"),
                help=f"further sites {words}; may be given again",
            )
        parser.add_argument("--gateways", type=int, dest="gateways_to_choose", help="choose sites for so many gateways")
        parser.add_argument("--seconds", type=float, help="longest search (usual: 120)")
        parser.add_argument("--json", action="store_true", help="print the whole answer as JSON")
        parser.add_argument(
            "--apply", type=_number, metavar="N", help="let the relays stand as placement N, 1 the best"
        )
        parser.add_argument("--make-missing", action="store_true", help="with --apply: make nodes that the kit lacks")

    def handle(self, **options: Any) -> None:
        """Print the answer on standard output, progress on standard error."""
        with refusals(self, options["wishes"] or ""):
            venue = venue_named(options["venue"], options["project"])
            if options["make_missing"] and options["apply"] is None:
                raise InvalidInput([FieldFault("--make-missing", "goes with --apply")])
            scene = build_scene(venue)
            wishes = _wishes(options)
            result = computed_here(self, KIND, scene, wishes)
            self._print(result, wishes, options["json"])
            if options["apply"] is not None and result["placements"]:
                # The venue may have been edited while this was computed.
                applied = place_relays_as(
                    THE_COMMAND_LINE,
                    venue,
                    result,
                    _index(options["apply"], result),
                    make_missing=options["make_missing"],
                    planned_for=fingerprint(scene),
                )
                self.stderr.write(_applied_words(applied))
        if not result["placements"]:
            sys.exit(EXIT_REFUSED)

    def _print(self, result: dict[str, Any], wishes: dict[str, Any], as_json: bool) -> None:
        if as_json:
            self.stdout.write(json.dumps(result, indent=1, ensure_ascii=False))
            return
        for line in (*KIND.in_words(result), *demands_in_words(wishes), *_details(result)):
            self.stdout.write(line)


def _wishes(options: Mapping[str, Any]) -> dict[str, Any]:
    """The wishes of the file, those given as options in their place."""
    found: dict[str, Any] = _read(options["wishes"]) if options["wishes"] else {}
    names = (*PLAIN, *LISTS, "most_hops", "gateways_to_choose")
    found |= {name: options[name] for name in names if options[name] is not None}
    found |= {name: True for name in SWITCHES if options[name]}
    for name, collection in (("grid", "grids"), ("edges", "edges")):
        if options[name]:
            found[collection] = [_layout(name, *parts) for parts in options[name]]
    return found


def _read(path: str) -> dict[str, Any]:
    try:
        found = json.loads(Path(path).read_text(encoding="utf-8"))
    except ValueError as error:
        raise InvalidInput([FieldFault(path, f"is not JSON: {error}")]) from error
    if not isinstance(found, dict):
        raise InvalidInput([FieldFault(path, 'must hold one object of wishes, such as {"network": "Show"}')])
    return found


def _layout(option: str, level: str, step: str, height: str) -> dict[str, Any]:
    try:
        return {"level": level, "step_m": float(step), "height_m": float(height)}
    except ValueError:
        raise InvalidInput(
            [FieldFault(f"--{option}", f"needs a level, a step and a height in metres, not {level} {step} {height}")]
        ) from None


def _number(text: str) -> int:
    if not (text.isascii() and text.isdigit() and 0 < int(text) < 1000):
        raise ArgumentTypeError(f"a placement is counted from 1, not {text!r}")
    return int(text)


def _index(number: int, result: Mapping[str, Any]) -> int:
    found = len(result["placements"])
    if number > found:
        raise InvalidInput([FieldFault("--apply", f"there is no placement {number}; the answer has {found}")])
    return number - 1


def _details(result: Mapping[str, Any]) -> Iterator[str]:
    """Each placement's sites, then what more relays would bring; the limits, where there is no placement."""
    for number, placement in enumerate(result["placements"], 1):
        names = ", ".join(relay["site"] for relay in placement["relays"]) or "no relay"
        yield f"  {number}: {names}; cost {placement['cost']:g}, worst delivery {_percent(placement['worst_delivery'])}"
    for point in result["trade"]:
        sure = "proven best" if point["is_proven"] else "best found"
        allowed = f"{point['relays_allowed']} relay{'' if point['relays_allowed'] == 1 else 's'}"
        yield f"  with {allowed} allowed: worst delivery {_percent(point['worst_delivery'])}, {sure}"
    for reason in result["reasons"]:
        if reason["smallest"] is not None:
            least = "at least " if reason["is_bound"] else ""
            yield f"  {reason['limit']}: {least}{reason['smallest']:g} would do"


def _percent(share: float) -> str:
    return f"{100 * share:.1f} %"


def _applied_words(applied: Applied) -> str:
    lists = {name: labels for name, labels in asdict(applied).items() if name != "revision" and labels}
    told = "; ".join(f"{name}: {', '.join(labels)}" for name, labels in lists.items())
    return f"revision {applied.revision}: {told or 'nothing to change'}"
