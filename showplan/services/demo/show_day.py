"""The demo's show day: a rehearsal, a matinee and an evening."""

from collections.abc import Iterator, Sequence

from showplan.records.models import Load, PartLevel, Project, ShowPart
from showplan.services.demo.costumes import KEEPER, TIDE
from showplan.services.demo.identity import key
from showplan.services.demo.scenery import LENS

# Name, kind, minutes, mean level of the loads, whether a pack may be changed before it. Nobody who is dressed and
# waiting is undressed again: packs are changed before the house opens and in the interval.
_PARTS: tuple[tuple[str, ShowPart.Kind, float, float, bool], ...] = (
    ("Rehearsal", ShowPart.Kind.REHEARSAL, 45.0, 0.2, True),
    ("Matinee, house opens", ShowPart.Kind.PRE_SET, 30.0, 0.03, True),
    ("Matinee, first half", ShowPart.Kind.ACT, 55.0, 0.25, False),
    ("Matinee, interval", ShowPart.Kind.INTERVAL, 20.0, 0.03, True),
    ("Matinee, second half", ShowPart.Kind.ACT, 50.0, 0.3, False),
    ("Between the shows", ShowPart.Kind.GAP, 120.0, 0.0, True),
    ("Evening, house opens", ShowPart.Kind.PRE_SET, 30.0, 0.03, True),
    ("Evening, first half", ShowPart.Kind.ACT, 55.0, 0.25, False),
    ("Evening, interval", ShowPart.Kind.INTERVAL, 20.0, 0.03, True),
    ("Evening, second half", ShowPart.Kind.ACT, 50.0, 0.3, False),
)
# Loads whose level in the acts is not that of all the others: a lens that turns without a pause, fans that never rest.
_IN_ACTS = {f"{LENS} lens {side}": 0.7 for side in ("north", "east", "south", "west")} | {
    f"{LENS} lens cooling": 1.0,
    f"{KEEPER} chest lamp": 0.6,
    f"{KEEPER} hood fan": 1.0,
    f"{TIDE} train fan": 1.0,
}


def show_day_of(project: Project, loads: Sequence[Load]) -> tuple[list[ShowPart], list[PartLevel]]:
    """The parts in order, and the levels that differ; not yet written."""
    parts = [
        ShowPart(
            id=key("show part", name),
            project=project,
            name=name,
            position=position,
            kind=kind,
            minutes=minutes,
            level=level,
            may_change_packs=may_change_packs,
        )
        for position, (name, kind, minutes, level, may_change_packs) in enumerate(_PARTS, 1)
    ]
    return parts, list(_levels(project, parts, loads))


def _levels(project: Project, parts: Sequence[ShowPart], loads: Sequence[Load]) -> Iterator[PartLevel]:
    for part in parts:
        for load in loads if part.kind == ShowPart.Kind.ACT else ():
            if load.label in _IN_ACTS:
                name = key("part level", part.name, load.label)
                yield PartLevel(id=name, project=project, part=part, load=load, level=_IN_ACTS[load.label])
