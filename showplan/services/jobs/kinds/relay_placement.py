"""Where relays stand, and how few: the relay planner as a job."""

from collections.abc import Iterator, Mapping, Sequence
from typing import Any

from showplan.planner.relays.answer import RelayPlacement
from showplan.planner.relays.from_scene import field_of, relay_task
from showplan.planner.relays.problem import RelayProblemError
from showplan.planner.relays.report import answer_values
from showplan.planner.relays.solve import solve
from showplan.planner.relays.watch import Settings
from showplan.planner.relays.wishes import RelayWishes
from showplan.planner.scene import Scene
from showplan.planner.watch import CannotCompute, Watch
from showplan.services.errors import FieldFault
from showplan.services.jobs.kind import Kind

NAME = "relay-placement"
MOST_NAMED = 12  # nodes left out, in a sentence
STATES = {
    "optimal": "no smaller set of relays will do",
    "feasible": "a smaller set is not ruled out",
}


class _Told:
    """Hands the solver's reports on as numbers."""

    def __init__(self, watch: Watch) -> None:
        self._watch = watch

    def progress(self, done: float, doing: str, best: RelayPlacement | None, bound: float) -> None:
        self._watch.progress(done, doing, best=None if best is None else best.cost, bound=bound)

    def is_cancelled(self) -> bool:
        return bool(self._watch.is_cancelled())


def check(scene: Scene, wishes: RelayWishes) -> Iterator[FieldFault]:
    """What the venue says against the wishes."""
    try:
        field_of(scene, wishes)
    except RelayProblemError as error:
        for fault in error.faults:
            yield FieldFault(fault.pointer.removeprefix("/"), fault.message)


def compute(scene: Scene, wishes: RelayWishes, watch: Watch) -> dict[str, Any]:
    """The answer in the venue's words; what was found by then where the job is cancelled."""
    watch.progress(0.0, "working out what reaches what")
    try:
        task = relay_task(scene, wishes)
    except RelayProblemError as error:
        raise CannotCompute(str(error)) from error
    return answer_values(task, solve(task.problem, watch=_Told(watch), settings=Settings(seconds=wishes.seconds)))


def in_words(result: dict[str, Any]) -> Sequence[str]:
    """How many relays, how sure, and the worst delivery; or why there is no placement."""
    if not result["placements"]:
        reasons = [reason["sentence"] for reason in result["reasons"]] or ["No placement was found in the time given."]
        return [*reasons, *most_served_in_words(result)]
    best = result["placements"][0]
    count = len(best["relays"])
    others = len(result["placements"]) - 1
    sentences = [
        f"{count} relay{'' if count == 1 else 's'} for network {result['network']}: {STATES[result['state']]}"
        + (
            "."
            if result["state"] == "optimal"
            else f"; the cost is {best['cost']:g}, proven at least {result['bound']:g}."
        )
    ]
    if best["relays"]:
        sentences.append(f"Sites: {', '.join(relay['site'] for relay in best['relays'])}.")
    if best["routes"]:
        worst = min(best["routes"], key=lambda route: (route["delivery"], route["node"]))
        sentences.append(f"Worst delivery {100 * worst['delivery']:.1f} %, to {worst['node']}.")
    if others:
        sentences.append(f"{others} other placement{'' if others == 1 else 's'} of the same cost.")
    return sentences


def demands_in_words(asked: Mapping[str, Any]) -> Iterator[str]:
    """Who wants what of every hop, by the parameters of a job; nothing where all want the same."""
    alike: dict[tuple[float, float], list[str]] = {}
    for demand in asked.get("demands", ()):
        want = demand["least_delivery"], demand.get("extra_margin_db", 0.0)
        alike.setdefault(want, []).append(demand["name"])
    usual = RelayWishes.model_fields
    general = (asked.get(name, usual[name].default) for name in ("least_delivery", "extra_margin_db"))
    wants = [*((", ".join(names), *want) for want, names in alike.items()), ("all other nodes", *general)]
    if alike:
        for who, least, margin_db in wants:
            more = f" and {margin_db:g} dB more" if margin_db else ""
            yield f"Every hop to {who} must deliver at least {100 * least:.10g} % and keep the fade margin{more}."


def most_served_in_words(result: dict[str, Any]) -> Iterator[str]:
    """What the relays can do, where they are too few for all nodes; nothing for other results."""
    # Results kept from before have no such entry.
    if not (most := result.get("most_served")):
        return
    allowed, served = most["relays_allowed"], most["served"]
    relays = f"{allowed} relay{'' if allowed == 1 else 's'}"
    proof = "no choice of sites serves more" if most["is_proven"] else f"more than {most['bound']} is ruled out"
    yield f"With {relays}, {served} of {result['nodes']} nodes can be served; {proof}."
    places = [("Relays at", most["relays"]), ("Gateways at", [one for one in most["gateways"] if "site" in one])]
    for words, sites in places:
        if sites:
            yield f"{words}: {', '.join(site['site'] for site in sites)}."
    shown, more = most["left_out"][:MOST_NAMED], len(most["left_out"]) - MOST_NAMED
    yield f"Left out: {', '.join(shown)}{f' and {more} more' if more > 0 else ''}."


KIND = Kind(
    name=NAME,
    title="Relay placement",
    about="The fewest relays that serve every node of a network, where they stand, and how sure that is.",
    parameters=RelayWishes,
    compute=compute,
    check=check,
    in_words=in_words,
    measure="cost",
    page="relays",
)
