"""What the plan shows: a level, a network, all its senders or one, the house, a layer; from the page's address."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any, TypeVar
from urllib.parse import urlencode

from showplan.services.computing import state_of
from showplan.services.errors import NotFound
from showplan.services.pictures import LAYERS, Layer
from showplan.services.planning import PlannedVenue

Name = TypeVar("Name", bound=str)
LAYER_WORDS: dict[Layer, str] = {"margin": "margin", "second": "second best", "delivery": "delivery"}


@dataclass(frozen=True)
class Option:
    """One thing to choose, with the address that chooses it."""

    words: str
    value: str
    address: str
    is_chosen: bool


@dataclass(frozen=True)
class Choice:
    """A chosen level (None where the venue has none), network (None where none plays here) and sender (None: all).

    `houses` are the states of the house in which the venue differs, `house` the one shown; `analysis` its numbers.
    """

    levels: tuple[Any, ...]
    networks: tuple[str, ...]
    senders: tuple[str, ...]
    level: Any | None
    network: str | None
    sender: str | None
    houses: tuple[str, ...]
    house: str
    layer: Layer
    analysis: Any

    @cached_property
    def parameters(self) -> dict[str, str]:
        """The query that leads to this choice."""
        level = self.level.name if self.level is not None else None
        house = self.house if self.house != self.houses[-1] else None
        layer = self.layer if self.layer != LAYERS[0] else None
        found = {"level": level, "network": self.network, "sender": self.sender, "house": house, "layer": layer}
        return {name: value for name, value in found.items() if value is not None}

    @property
    def query(self) -> str:
        """The same as the text after '?'."""
        return urlencode(self.parameters)

    def level_options(self) -> list[Option]:
        """Every level, lowest first."""
        return [self._option(level.name, "level", level.name) for level in self.levels]

    def network_options(self) -> list[Option]:
        """Every network that has nodes here; another network starts with all its senders."""
        return [self._option(name, "network", name, drop="sender") for name in self.networks]

    def sender_options(self) -> list[Option]:
        """All senders, then each gateway and relay."""
        return [self._option("all senders", "sender", ""), *(self._option(s, "sender", s) for s in self.senders)]

    def house_options(self) -> list[Option]:
        """Both states of the house where the venue differs, else none."""
        hardest = self.houses[-1]
        found = [self._option(house, "house", "" if house == hardest else house) for house in self.houses]
        return found if len(found) > 1 else []

    def layer_options(self) -> list[Option]:
        """What the coverage picture may show."""
        return [self._option(LAYER_WORDS[layer], "layer", "" if layer == LAYERS[0] else layer) for layer in LAYERS]

    def _option(self, words: str, name: str, value: str, drop: str = "") -> Option:
        query = {key: kept for key, kept in self.parameters.items() if key not in (name, drop)}
        if value:
            query[name] = value
        address = f"?{urlencode(query)}#plan"
        return Option(words, value, address, self.parameters.get(name, "") == value)


def chosen(planned: PlannedVenue, query: Mapping[str, str]) -> Choice:
    """The choice a query makes; left open: the lowest level, the first network, all senders, the hardest house.

    Raises NotFound, which lists what there is, for a name that is not there.
    """
    scene, house = planned.scene, state_of(planned.plan, query.get("house", ""))
    analysis = planned.plan.analyses[house]
    levels = tuple(sorted(scene.levels, key=lambda level: (level.elevation_m, level.name)))
    networks = tuple(name for name, links in analysis.links.items() if links.labels)
    level_name = _picked("level", query, [level.name for level in levels])
    network = _picked("network", query, networks)
    senders: tuple[str, ...] = ()
    if network is not None:
        links = analysis.links[network]
        senders = tuple(label for label, role in zip(links.labels, links.roles, strict=True) if role != "receiver")
    sender = _picked("sender", query, senders, default=False)
    level = scene.level(level_name) if level_name is not None else None
    layer = _picked("layer", query, LAYERS)
    assert layer is not None  # there always are layers
    return Choice(
        levels=levels,
        networks=networks,
        senders=senders,
        level=level,
        network=network,
        sender=sender,
        houses=planned.plan.states,
        house=house,
        layer=layer,
        analysis=analysis,
    )


def _picked(name: str, query: Mapping[str, str], known: Sequence[Name], *, default: bool = True) -> Name | None:
    wanted = query.get(name, "")
    found = next((one for one in known if one == wanted), None)
    if wanted and found is None:
        raise NotFound(f"there is no {name} {wanted!r} here; there is: {', '.join(known) or 'none at all'}")
    return found or (known[0] if default and known else None)


def house_options(states: Sequence[str], chosen_state: str, keep: Mapping[str, str] | None = None) -> list[Option]:
    """Both states of the house where the venue differs, else none; the hardest needs no word in the address."""
    if len(states) < 2:
        return []
    queries = {one: {**(keep or {}), **({"house": one} if one != states[-1] else {})} for one in states}
    return [Option(one, one, f"?{urlencode(query)}", one == chosen_state) for one, query in queries.items()]
