"""What the plan shows: one level, one network, all its senders or one. It comes from the address of the page."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import Any
from urllib.parse import urlencode

from showplan.services.errors import NotFound
from showplan.services.planning import PlannedVenue


@dataclass(frozen=True)
class Option:
    """One thing to choose, with the address that chooses it."""

    words: str
    value: str
    address: str
    is_chosen: bool


@dataclass(frozen=True)
class Choice:
    """A chosen level (None where the venue has none), network (None where none plays here) and sender (None: all)."""

    levels: tuple[Any, ...]
    networks: tuple[str, ...]
    senders: tuple[str, ...]
    level: Any | None
    network: str | None
    sender: str | None

    @cached_property
    def parameters(self) -> dict[str, str]:
        """The query that leads to this choice."""
        level = self.level.name if self.level is not None else None
        found = {"level": level, "network": self.network, "sender": self.sender}
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

    def _option(self, words: str, name: str, value: str, drop: str = "") -> Option:
        query = {key: kept for key, kept in self.parameters.items() if key not in (name, drop)}
        if value:
            query[name] = value
        address = f"?{urlencode(query)}#plan"
        return Option(words, value, address, self.parameters.get(name, "") == value)


def chosen(planned: PlannedVenue, query: Mapping[str, str]) -> Choice:
    """The choice a query makes; what it leaves open is the lowest level, the first network, all senders.

    Raises NotFound, which lists what there is, for a name that is not there.
    """
    scene, analysis = planned.scene, planned.plan.analysis
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
    return Choice(levels, networks, senders, level, network, sender)


def _picked(name: str, query: Mapping[str, str], known: Sequence[str], *, default: bool = True) -> str | None:
    wanted = query.get(name, "")
    if wanted and wanted not in known:
        raise NotFound(f"there is no {name} {wanted!r} here; there is: {', '.join(known) or 'none at all'}")
    if wanted:
        return wanted
    return known[0] if default and known else None
