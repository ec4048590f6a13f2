"""A venue being drawn: collects the records of one venue, not yet written."""

from collections.abc import Iterable, Mapping, Sequence
from datetime import date
from typing import Any

from showplan.records.base import Record
from showplan.records.models import (
    CandidateSite,
    CrowdArea,
    Level,
    Node,
    OccupiedSpectrum,
    Placement,
    Project,
    TourDate,
    Venue,
    Wall,
    Zone,
)
from showplan.services.demo.identity import key

Point = tuple[float, float]


class VenueDrawing:
    """Each method adds one record (or a row of like ones); positions and heights in metres."""

    def __init__(self, project: Project, nodes: Mapping[str, Node], name: str, **facts: Any) -> None:
        self.venue = Venue(id=key("venue", name), project=project, name=name, **facts)
        self._nodes = nodes
        self.levels: dict[str, Level] = {}
        self._zones: dict[str, Zone] = {}
        self._records: dict[type[Record], list[Record]] = {Venue: [self.venue]}

    def groups(self) -> list[Sequence[Record]]:
        """The records class by class, in the order in which they must be written."""
        order = (Venue, Level, Wall, Zone, CrowdArea, CandidateSite, OccupiedSpectrum, TourDate, Placement)
        return [self._records.get(kind, []) for kind in order]

    def level(self, name: str, **measures: Any) -> Level:
        """A level; see the record for the measures."""
        self.levels[name] = self._add(Level(id=self._key("level", name), venue=self.venue, name=name, **measures))
        return self.levels[name]

    def wall(
        self,
        level: Level,
        label: str,
        start_m: Point,
        end_m: Point,
        height_m: float,
        material: str,
        base_m: float = 0.0,
    ) -> None:
        """A wall from one point to another."""
        self._add(
            Wall(
                id=self._key("wall", level.name, label),
                level=level,
                label=label,
                start_x_m=start_m[0],
                start_y_m=start_m[1],
                end_x_m=end_m[0],
                end_y_m=end_m[1],
                base_m=base_m,
                height_m=height_m,
                material=material,
            )
        )

    def zone(self, level: Level, name: str, *corners_m: Point) -> None:
        """A zone by its corners; its name is used once in a venue here."""
        corners = [list(corner) for corner in corners_m]
        self._zones[name] = self._add(Zone(id=self._key("zone", name), level=level, name=name, corners_m=corners))

    def site(self, level: Level, label: str, at_m: Point, height_m: float, *, mains: bool) -> None:
        """A candidate site."""
        identifier = self._key("candidate site", label)
        x_m, y_m = at_m
        self._add(
            CandidateSite(id=identifier, level=level, label=label, x_m=x_m, y_m=y_m, height_m=height_m, has_mains=mains)
        )

    def crowd(self, level: Level, label: str, *corners_m: Point, height_m: float, loss_db_per_m: float) -> None:
        """Where the audience is when the house is full."""
        identifier = self._key("crowd area", level.name, label)
        corners = [list(corner) for corner in corners_m]
        self._add(
            CrowdArea(
                id=identifier,
                level=level,
                label=label,
                corners_m=corners,
                height_m=height_m,
                loss_db_per_m=loss_db_per_m,
            )
        )

    def occupied(
        self,
        label: str,
        centre_mhz: float,
        bandwidth_mhz: float,
        received_dbm: float,
        note: str = "",
        *,
        busy_share: float = 0.05,
        full_house_busy_share: float | None = None,
    ) -> None:
        """Spectrum that is taken already; the shares of the time are guesses, as a crew's first ones are."""
        facts = {"centre_mhz": centre_mhz, "bandwidth_mhz": bandwidth_mhz, "received_dbm": received_dbm, "note": note}
        facts |= {"busy_share": busy_share, "full_house_busy_share": full_house_busy_share}
        self._add(OccupiedSpectrum(id=self._key("spectrum", label), venue=self.venue, label=label, **facts))

    def day(self, when: date, kind: str, note: str = "") -> None:
        """A tour date."""
        identifier = self._key("date", when.isoformat(), kind)
        self._add(TourDate(id=identifier, venue=self.venue, date=when, kind=kind, note=note))

    def place(self, label: str, level: Level, at_m: Point, height_m: float) -> None:
        """A node at a point."""
        self._placement(label, level=level, x_m=at_m[0], y_m=at_m[1], height_m=height_m)

    def place_in(self, zone: str, labels: Iterable[str], height_m: float) -> None:
        """Nodes that move in a zone."""
        for label in labels:
            self._placement(label, level=self._zones[zone].level, zone=self._zones[zone], height_m=height_m)

    def _placement(self, label: str, **where: Any) -> None:
        identifier = self._key("placement", label)
        self._add(Placement(id=identifier, venue=self.venue, node=self._nodes[label], **where))

    def _key(self, *names: str) -> Any:
        return key("venue", self.venue.name, *names)

    def _add(self, record: Any) -> Any:
        self._records.setdefault(type(record), []).append(record)
        return record
