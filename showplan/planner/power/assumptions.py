"""What the answer to 'does the power last, safely?' takes for granted."""

from collections import defaultdict

from showplan.planner.power.battery import RESERVE
from showplan.planner.power.facts import WORN_C
from showplan.planner.power.kept import kept
from showplan.planner.power.results import Assumed
from showplan.planner.scene import Scene

MOST_NAMES = 5


def power_assumptions(scene: Scene) -> tuple[str, ...]:
    """Sentences on power: what was not entered, and how circuits, packs and heat are worked out."""
    power = kept(scene)[0].power
    if not power.nodes:
        return ()
    venue = scene.venue
    assumed = [one for node in power.nodes for one in node.assumed]
    assumed += [one for supply in power.supplies for one in supply.assumed]
    return (
        *_not_entered(assumed),
        f"Power: copper leads of IEC 60228 class 5 as warm as the air, {venue.warmest_c:g} °C, {WORN_C:g} °C or more"
        " where worn; one that carries all it may is up to 30 K warmer and takes 12 % more.",
        "Everything on at full level at once: voltage drop at rated current and nominal voltage; currents, fuses and"
        " heat"
        " on a full pack; light at nominal and at cut-off voltage. Dimming lowers means, not the current while on.",
        f"Packs as cold as {venue.coldest_c:g} °C and as aged as entered; {100 * RESERVE:.0f} % stay in reserve;"
        " changed"
        " between parts, charged in gaps and after the day.",
        "Power figures are planning arithmetic: local codes, the venue's rules and makers' data sheets win; a"
        " licensed or"
        " competent person signs off mains work and whatever people wear.",
    )


def _not_entered(assumed: list[Assumed]) -> list[str]:
    """One sentence for each value that was assumed, however many parts it is assumed for."""
    names: dict[tuple[str, float, str, str], list[str]] = defaultdict(list)
    for one in dict.fromkeys(assumed):
        names[one.what, one.value, one.unit, one.source].append(one.subject.name)
    sentences = []
    for (what, value, unit, source), whose in names.items():
        more = f" and {len(whose) - MOST_NAMES} more" if len(whose) > MOST_NAMES else ""
        listed = ", ".join(whose[:MOST_NAMES])
        sentences.append(f"Not entered for {listed}{more}: {what}; {value:.3g} {unit} assumed ({source}).")
    return sentences
