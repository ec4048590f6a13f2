"""What the plan of one level shows, in metres: walls, zones, crowd areas, sites, nodes, one network's links."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from frontend.present.choice import Choice
from frontend.present.places import Place, drawn_places
from frontend.present.words import decibels, percent
from showplan.services.knowledge import reference_tables
from showplan.services.pictures import MarginClass, margin_class
from showplan.services.planning import PlannedVenue

# dB of one crossing from which a wall is drawn thicker; drawing only, no figure rests on it.
THICKER_FROM_DB = (4.0, 10.0)


@dataclass(frozen=True)
class DrawnWall:
    """A wall with the letter of its material in the legend and a weight from 1 to 3."""

    label: str
    start_m: tuple[float, float]
    end_m: tuple[float, float]
    letter: str
    weight: int


@dataclass(frozen=True)
class DrawnMaterial:
    """A material on this level: its letter, its name and what one crossing costs."""

    letter: str
    name: str
    loss: str
    weight: int


@dataclass(frozen=True)
class DrawnNode:
    """A node; `is_here` is False for a sender of another level with a link to this one."""

    label: str
    role: str
    place: Place
    is_here: bool
    is_in_network: bool
    says: str

    @property
    def kind(self) -> str:
        """The words by which the style sheet knows it."""
        parts = {
            "moving": bool(self.place.zone),
            "elsewhere": not self.is_here,
            "other-network": not self.is_in_network,
        }
        return " ".join([self.role, *(name for name, holds in parts.items() if holds)])


@dataclass(frozen=True)
class DrawnLink:
    """A link of the best routes, or of the chosen sender; of the backbone if no receiver is at its end."""

    transmitter: str
    receiver: str
    start: Place
    end: Place
    margin_class: MarginClass
    is_backbone: bool
    says: str


@dataclass(frozen=True)
class Drawing:
    """Everything on the plan of one level."""

    level: Any
    walls: tuple[DrawnWall, ...]
    materials: tuple[DrawnMaterial, ...]
    zones: tuple[Any, ...]
    crowd_areas: tuple[Any, ...]
    sites: tuple[Any, ...]
    nodes: tuple[DrawnNode, ...]
    links: tuple[DrawnLink, ...]


def drawing_of(planned: PlannedVenue, choice: Choice) -> Drawing:
    """The plan of the chosen level; the choice must have one."""
    scene, level = planned.scene, choice.level
    places = drawn_places(planned)
    links = tuple(link for link in _links(planned, choice, places) if _concerns(link, level.name))
    materials = _materials(planned, choice)
    return Drawing(
        level=level,
        walls=tuple(
            DrawnWall(
                wall.label,
                wall.start_m,
                wall.end_m,
                materials[wall.material].letter,
                materials[wall.material].weight,
            )
            for wall in scene.walls
            if wall.level == level.name
        ),
        materials=tuple(materials.values()),
        zones=tuple(zone for zone in scene.zones if zone.level == level.name),
        crowd_areas=tuple(area for area in scene.crowd_areas if area.level == level.name),
        sites=tuple(site for site in scene.candidate_sites if site.level == level.name),
        nodes=tuple(_nodes(planned, choice, places, links)),
        links=links,
    )


def _concerns(link: DrawnLink, level: str) -> bool:
    """A link is drawn on its receiving node's level; one of the backbone on both levels it joins."""
    return link.end.level == level or (link.is_backbone and link.start.level == level)


def _materials(planned: PlannedVenue, choice: Choice) -> dict[str, DrawnMaterial]:
    """Materials of the level's walls by key, at the chosen network's frequency (2440 MHz where there is none)."""
    links = choice.analysis.links
    frequency_mhz = links[choice.network].frequency_mhz if choice.network else 2440.0
    used = sorted({wall.material for wall in planned.scene.walls if wall.level == choice.level.name})
    found = {}
    for index, key in enumerate(used):
        material = reference_tables()["materials"][key]
        loss_db = material.loss_db(frequency_mhz)
        weight = 1 + sum(loss_db >= threshold_db for threshold_db in THICKER_FROM_DB)
        found[key] = DrawnMaterial(material_letter(index), material.name, decibels(loss_db), weight)
    return found


def material_letter(index: int) -> str:
    """A, B ... Z, AA, AB ..."""
    return (material_letter(index // 26 - 1) if index >= 26 else "") + chr(ord("A") + index % 26)


def _links(planned: PlannedVenue, choice: Choice, places: dict[str, Place]) -> Iterator[DrawnLink]:
    if choice.network is None:
        return
    links = choice.analysis.links[choice.network]
    for transmitter, receiver in _ends(choice):
        link = links.link(transmitter, receiver)
        of_class = margin_class(link.margin_db)
        says = (
            f"{transmitter} to {receiver}: {of_class.words}, {decibels(link.margin_db)}, "
            f"delivery {percent(link.delivery)}, {link.distance_m:.1f} m"
        )
        is_backbone = planned.scene.node(receiver).role != "receiver"
        yield DrawnLink(transmitter, receiver, places[transmitter], places[receiver], of_class, is_backbone, says)


def _ends(choice: Choice) -> list[tuple[str, str]]:
    """Of one sender: every link out of it. Of all: each hop of a best route, and the best link of who has none."""
    assert choice.network is not None  # asked by _links
    links = choice.analysis.links[choice.network]
    if choice.sender is not None:
        return [(link.transmitter, link.receiver) for link in links if link.transmitter == choice.sender]
    routes = choice.analysis.routes[choice.network]
    ends = {hop for route in routes.values() for hop in zip(route.nodes, route.nodes[1:], strict=False)}
    for label in links.labels:
        best = links.best_into(label) if label not in routes else None
        if best is not None:
            ends.add((best.transmitter, best.receiver))
    return sorted(ends)


def _nodes(
    planned: PlannedVenue, choice: Choice, places: dict[str, Place], links: tuple[DrawnLink, ...]
) -> Iterator[DrawnNode]:
    linked = {end for link in links for end in (link.transmitter, link.receiver)}
    for node in planned.scene.placed_nodes():
        place = places[node.label]
        is_here = place.level == choice.level.name
        if not is_here and node.label not in linked:
            continue
        where = "" if is_here else f" (on {place.level})"
        moves = f", moves in {place.zone}" if place.zone else ""
        yield DrawnNode(
            label=node.label,
            role=node.role,
            place=place,
            is_here=is_here,
            is_in_network=node.network == choice.network,
            says=f"{node.label}, {node.role}{moves}{where}",
        )
