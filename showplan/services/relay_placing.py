"""Putting a planned relay placement into the venue: one revision, which can be undone."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import count
from typing import Any

from showplan.planner.relays.sites import SAME_PLACE_M
from showplan.records.models import Level, Network, Node, NodeType, Placement, Venue
from showplan.services.editing import Actor, Edit, edit
from showplan.services.errors import FieldFault, InvalidInput, NotFound, RuleBroken
from showplan.services.jobs.kinds.relay_placement import NAME
from showplan.services.jobs.reading import job_named
from showplan.services.planning import scene_fingerprint
from showplan.services.rights import Caller, refuse_unless_editor


@dataclass
class Applied:
    """What became of the nodes, by label; `revision` is the project's afterwards."""

    kept: list[str] = field(default_factory=list)
    moved: list[str] = field(default_factory=list)
    placed: list[str] = field(default_factory=list)
    removed: list[str] = field(default_factory=list)
    made: list[str] = field(default_factory=list)
    revision: int = 0


def apply_relay_job(caller: Caller, job_id: Any, number: int = 0, *, make_missing: bool = False) -> Applied:
    """Let the relays of the job's venue stand as placement `number` of its result says; one revision.

    The venue must still be as it was planned. Raises NotFound, NotAllowed, InvalidInput for a placement that is not
    there, PlanImpossible, and RuleBroken where nothing can be applied: it says what to do first.
    """
    job = job_named(caller, job_id)
    refuse_unless_editor(caller, job.project)
    if job.kind != NAME or job.venue is None:
        raise RuleBroken(f"only a job of the kind {NAME!r} of a venue can be applied; this one is {job.kind!r}")
    if job.result is None:
        raise RuleBroken(f"this job has no result: it is {job.state}")
    found = len(job.result["placements"])
    if not found:
        raise RuleBroken("this job found no placement, so there is nothing to apply: its reasons say what would help")
    if not 0 <= number < found:
        raise InvalidInput([FieldFault("placement", f"must be from 0 to {found - 1}, not {number}")])
    job.venue.project = job.project
    return place_relays_as(
        caller.actor(), job.venue, job.result, number, make_missing=make_missing, planned_for=job.scene_fingerprint
    )


def place_relays(
    caller: Caller, venue: Venue, answer: Mapping[str, Any], number: int = 0, *, make_missing: bool = False
) -> Applied:
    """Let the network's relays stand as placement `number` of an answer (`relays.report.answer_values`) says.

    A relay that stands at a chosen site stays; others of the kit are moved there, those not needed leave the venue.
    `make_missing` makes nodes that the kit lacks. Raises NotAllowed, NotFound, RuleBroken.
    """
    refuse_unless_editor(caller, venue.project)
    return place_relays_as(caller.actor(), venue, answer, number, make_missing=make_missing)


def place_relays_as(
    actor: Actor,
    venue: Venue,
    answer: Mapping[str, Any],
    number: int = 0,
    *,
    make_missing: bool = False,
    planned_for: str = "",
) -> Applied:
    """The same without a look at rights: for the command line.

    `planned_for` is the fingerprint of the Scene that the answer is for; RuleBroken where the venue has another now.
    """
    placements = answer["placements"]
    if not 0 <= number < len(placements):
        raise NotFound(f"there is no placement {number + 1} in this answer; it has {len(placements)}")
    chosen = placements[number]
    with edit(venue.project, actor) as change:
        # Inside the edit, which holds the project: nobody changes the venue between this look and the writing.
        if planned_for and scene_fingerprint(venue) != planned_for:
            raise RuleBroken("the venue has changed since this was planned: plan again, or undo what changed it")
        network = _named(Network, venue, answer["network"])
        relay_type = _named(NodeType, venue, answer["relay_type"])
        standing = _Standing(change, venue, network, make_missing=make_missing)
        standing.let_stand(Node.Role.RELAY, relay_type, chosen["relays"])
        if gateway_sites := [one for one in chosen["gateways"] if "site" in one]:
            standing.let_stand(Node.Role.GATEWAY, None, gateway_sites)
    standing.applied.revision = venue.project.revision
    return standing.applied


class _Standing:
    """One application: which node goes where."""

    def __init__(self, change: Edit, venue: Venue, network: Network, *, make_missing: bool) -> None:
        self.change, self.venue, self.network, self.make_missing = change, venue, network, make_missing
        self.levels = {level.name: level for level in Level.objects.filter(venue=venue)}
        for level in self.levels.values():
            level.venue = venue
        self.applied = Applied()

    def let_stand(self, role: str, node_type: NodeType | None, sites: Sequence[Mapping[str, Any]]) -> None:
        """Nodes of the role, of the type if one is given, at exactly these sites."""
        kit = list(Node.objects.filter(network=self.network, role=role).select_related("node_type").order_by("label"))
        fit = [node for node in kit if node_type is None or node.node_type_id == node_type.pk]
        present = {p.node_id: p for p in Placement.objects.filter(venue=self.venue, node__in=kit, zone=None)}
        open_sites = []
        for site in sites:
            here = next((n for n in fit if n.pk in present and self._is_at(present[n.pk], site)), None)
            if here is None:
                open_sites.append(site)
            else:
                fit.remove(here)
                del present[here.pk]
                self.applied.kept.append(here.label)
        # Those that stand here already are moved before more are brought in.
        fit.sort(key=lambda node: node.pk not in present)
        missing = len(open_sites) - len(fit)
        if missing > 0:
            fit += self._made(role, node_type or (kit[0].node_type if kit else None), missing)
        self._move(list(zip(fit, open_sites, strict=False)), present)
        self._remove([(node, present[node.pk]) for node in kit if node.pk in present])

    def _move(self, pairs: Sequence[tuple[Node, Mapping[str, Any]]], present: dict[Any, Placement]) -> None:
        new = []
        for node, site in pairs:
            where = {"level": self._level(site), **{name: site[name] for name in ("x_m", "y_m", "height_m")}}
            if placement := present.pop(node.pk, None):
                placement.venue, placement.node = self.venue, node
                self.change.update(placement, where)
                self.applied.moved.append(node.label)
            else:
                node.project = self.venue.project
                new.append(Placement(venue=self.venue, node=node, **where))
                self.applied.placed.append(node.label)
        self.change.create(new)

    def _remove(self, leaving: Sequence[tuple[Node, Placement]]) -> None:
        for node, placement in leaving:
            placement.venue = self.venue
            self.change.delete(placement)
            self.applied.removed.append(node.label)

    def _made(self, role: str, node_type: NodeType | None, missing: int) -> list[Node]:
        words = f"{missing} {role}{'s' if missing > 1 else ''}"
        if node_type is None or not self.make_missing:
            what = f" of type {node_type.name}" if node_type else ""
            raise RuleBroken(
                f"network {self.network.name!r} lacks {words}{what} in the kit:"
                " add them there first, or ask for missing nodes to be made"
            )
        node_type.project = self.network.project = self.venue.project
        labels, addresses = self._free_labels(role), self._free_addresses()
        made = [
            Node(
                project=self.venue.project,
                label=next(labels),
                role=role,
                node_type=node_type,
                network=self.network,
                short_address=next(addresses),
            )
            for _ in range(missing)
        ]
        self.change.create(made)
        self.applied.made += [node.label for node in made]
        return made

    def _free_labels(self, role: str) -> Iterator[str]:
        taken = set(Node.objects.filter(project=self.venue.project).values_list("label", flat=True))
        return (label for n in count(1) if (label := f"{self.network.name[:60]} {role} {n}") not in taken)

    def _free_addresses(self) -> Iterator[int]:
        taken = set(Node.objects.filter(network=self.network).values_list("short_address", flat=True))
        return (n for n in count(1) if n not in taken)

    def _is_at(self, placement: Placement, site: Mapping[str, Any]) -> bool:
        if placement.level_id != self._level(site).pk:
            return False
        return all(abs(getattr(placement, name) - site[name]) < SAME_PLACE_M for name in ("x_m", "y_m", "height_m"))

    def _level(self, site: Mapping[str, Any]) -> Level:
        if site["level"] not in self.levels:
            raise NotFound(f"level {site['level']!r} of the placement is no longer in this venue: plan again")
        return self.levels[site["level"]]


def _named(model: Any, venue: Venue, name: str) -> Any:
    found = model.objects.filter(project=venue.project, name=name).first()
    if found is None:
        raise NotFound(f"{model.noun()} {name!r} is no longer in the project: plan again")
    found.project = venue.project
    return found
