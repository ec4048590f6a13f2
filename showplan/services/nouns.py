"""The kinds of records that crews edit, described once: pages, API and import read from here.

To add a kind: its model in `records`, a line in NOUNS, and, if the planner needs it, a mapping in `scenes`.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import Any, Literal

from django.db import models
from django.db.models import QuerySet

from showplan.records import models as r
from showplan.records.base import Record
from showplan.services.snapshots import edited_fields


@dataclass(frozen=True)
class Noun:
    """One kind of record.

    `path` names its collection in addresses. `parent` says whether its collections hang on a project or a venue.
    `way_up` is the lookup from the record to that parent. `filters` are the fields a list can be narrowed by, `sort`
    its order, `joins` what a record's own checks look at beyond its references. `called` is the plural in words where
    it is not that of the path.
    """

    model: type[Record]
    path: str
    parent: Literal["project", "venue"]
    way_up: str
    filters: tuple[str, ...] = ()
    sort: str = "label"
    joins: tuple[str, ...] = ()
    called: str = ""

    @property
    def singular(self) -> str:
        """'node type' for node-types."""
        return self.model.noun()

    @property
    def plural(self) -> str:
        """'node types' for node-types."""
        return self.called or self.path.replace("-", " ")

    @cached_property
    def fields(self) -> "tuple[models.Field[Any, Any], ...]":
        """The fields people set, in order of declaration; the parent and pictures are not among them."""
        return tuple(
            field
            for field in edited_fields(self.model)
            if field.name != self.parent and not isinstance(field, models.FileField)
        )

    @cached_property
    def references(self) -> "tuple[models.ForeignKey[Any, Any], ...]":
        """The fields that point to other records."""
        return tuple(field for field in self.fields if isinstance(field, models.ForeignKey))

    @cached_property
    def targets(self) -> "Mapping[str, Noun]":
        """The kind of record that each reference field points to."""
        return {field.name: by_model()[field.related_model] for field in self.references}

    def within(self, parent: r.Project | r.Venue) -> QuerySet[Record]:
        """All records of this kind in a project or venue."""
        return self.model._default_manager.filter(**{self.way_up: parent})

    def loaded(self, parent: r.Project | r.Venue) -> QuerySet[Record]:
        """The same, each with the records it refers to, ready to be checked and changed."""
        references = [field.name for field in self.references]
        return self.within(parent).select_related(*references, *self.joins)

    def adopt(self, record: Record, parent: r.Project | r.Venue) -> None:
        """Make a loaded record share the parent object, so that looking up its owner asks the database nothing."""
        *steps, last = self.way_up.split("__")
        here: Any = record
        for step in steps:
            here = getattr(here, step)
        setattr(here, last, parent)


NOUNS = (
    Noun(r.Crew, "crews", "project", "project", sort="name"),
    Noun(r.Venue, "venues", "project", "project", ("region", "environment", "name"), sort="name"),
    Noun(r.OwnPhy, "own-phys", "project", "project", ("key",), sort="key", called="own PHYs"),
    Noun(r.NodeType, "node-types", "project", "project", ("phy", "name"), sort="name"),
    Noun(r.Network, "networks", "project", "project", ("phy", "radio_channel", "name"), sort="name"),
    Noun(r.ShowTimeline, "timelines", "project", "project", ("name",), sort="name"),
    Noun(r.Traffic, "traffic-settings", "project", "project", ("network", "relaying"), sort="created_at"),
    Noun(r.Feed, "feeds", "project", "project", ("network", "kind"), sort="created_at"),
    Noun(r.Supply, "supplies", "project", "project", ("kind", "label")),
    Noun(
        r.Node,
        "nodes",
        "project",
        "project",
        ("role", "node_type", "network", "supply", "crew", "is_worn", "on_signal_loss", "label"),
    ),
    Noun(r.Load, "loads", "project", "project", ("kind", "node", "label"), joins=("node__node_type",)),
    Noun(r.ShowPart, "show-parts", "project", "project", ("kind", "name"), sort="position"),
    Noun(r.PartLevel, "part-levels", "project", "project", ("part", "load"), sort="created_at"),
    Noun(r.Level, "levels", "venue", "venue", ("name",), sort="name"),
    Noun(r.Wall, "walls", "venue", "level__venue", ("level", "material", "label")),
    Noun(r.Zone, "zones", "venue", "level__venue", ("level", "name"), sort="name"),
    Noun(r.CrowdArea, "crowd-areas", "venue", "level__venue", ("level", "label")),
    Noun(r.CandidateSite, "candidate-sites", "venue", "level__venue", ("level", "has_mains", "label")),
    Noun(r.OccupiedSpectrum, "occupied-spectrum", "venue", "venue", ("label",)),
    Noun(r.Placement, "placements", "venue", "venue", ("node", "level", "zone"), sort="created_at"),
    Noun(r.ChannelChoice, "channel-choices", "venue", "venue", ("network",), sort="created_at"),
    Noun(r.TourDate, "tour-dates", "venue", "venue", ("kind", "date"), sort="date"),
    Noun(r.Calibration, "calibrations", "venue", "venue", ("is_applied", "name"), sort="name"),
    Noun(r.Reading, "readings", "venue", "level__venue", ("level", "transmitter", "receiver_type"), sort="taken_at"),
)


def by_model() -> Mapping[Any, Noun]:
    """The nouns by their model."""
    return {noun.model: noun for noun in NOUNS}


def by_path() -> Mapping[str, Noun]:
    """The nouns by the name of their collection."""
    return {noun.path: noun for noun in NOUNS}
