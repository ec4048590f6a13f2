"""Power of a Scene, worked out once for all Scenes that agree in what it depends on: moving a node changes nothing."""

from collections.abc import Hashable
from functools import lru_cache

from showplan.planner.findings import Finding
from showplan.planner.power.carriage_findings import carriage_findings
from showplan.planner.power.conductor_findings import conductor_findings
from showplan.planner.power.energy_findings import energy_findings
from showplan.planner.power.light_findings import light_findings
from showplan.planner.power.planned import Planned, planned
from showplan.planner.power.supply_findings import supply_findings
from showplan.planner.power.switch_findings import switch_findings
from showplan.planner.power.words import Judged, about
from showplan.planner.scene import Scene

KEPT = 8  # Scenes of a tour that several people look at
CHECKS = (
    conductor_findings,
    switch_findings,
    light_findings,
    supply_findings,
    energy_findings,
    carriage_findings,
)
NOTHING_TO_FEED = "nothing-to-feed"


class _Needs:
    """A Scene that counts as equal to another when its power is the same."""

    __slots__ = ("_hash", "key", "scene")

    def __init__(self, scene: Scene) -> None:
        self.scene = scene
        self.key = depends_on(scene)
        self._hash = hash(self.key)

    def __hash__(self) -> int:
        return self._hash

    def __eq__(self, other: object) -> bool:
        return isinstance(other, _Needs) and self.key == other.key


def depends_on(scene: Scene) -> Hashable:
    """Everything in a Scene that its power depends on. What the planner reads anew must stand here."""
    venue = scene.venue
    return (
        (venue.name, venue.coldest_c, venue.warmest_c, venue.is_wet, venue.reached_by_air),
        (venue.drop_warn_percent, venue.drop_stop_percent),
        scene.node_types,
        scene.supplies,
        scene.loads,
        scene.show_parts,
        scene.part_levels,
        scene.timelines,
        tuple(
            (
                node.label,
                node.node_type,
                node.supply,
                node.is_worn,
                node.trunk_length_m,
                node.trunk_area_mm2,
                node.main_fuse_a,
                node.main_fuse_class,
                node.main_fuse_v,
                node.main_fuse_breaks_a,
                node.main_fuse_mohm,
            )
            for node in scene.nodes
        ),
    )


def kept(scene: Scene) -> tuple[Planned, tuple[Finding, ...]]:
    """Numbers and findings of a Scene."""
    return _worked_out(_Needs(scene))


@lru_cache(maxsize=KEPT)
def _worked_out(needs: _Needs) -> tuple[Planned, tuple[Finding, ...]]:
    found = planned(needs.scene)
    if not found.power.nodes:
        return found, (_nothing(needs.scene),)
    judged = Judged(needs.scene, found.facts, found.power)
    first: dict[tuple[object, ...], Finding] = {}
    for check in CHECKS:
        for finding in check(judged):
            first.setdefault((finding.code, finding.subject), finding)
    return found, tuple(first.values())


def _nothing(scene: Scene) -> Finding:
    return about(
        ("venue", scene.venue.name),
        NOTHING_TO_FEED,
        "note",
        "No node feeds a load or is fed by an entered supply.",
        "Enter loads and supplies.",
    )
