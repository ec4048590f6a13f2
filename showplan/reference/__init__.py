"""Dated reference tables: each row names its source and how far it can be trusted. No Django."""

from showplan.reference.body_losses import BodyLoss, Posture, body_loss_db, body_losses
from showplan.reference.environments import Environment, environments
from showplan.reference.materials import BandLoss, Material, materials
from showplan.reference.phys import Phy, phys
from showplan.reference.region_rules import RegionRule, region_rules
from showplan.reference.regions import Region, regions
from showplan.reference.standing import (
    OutsideTable,
    ReferenceLookupError,
    ReferenceTableError,
    Standing,
    UnknownKey,
    UnknownRadioChannel,
)

__all__ = [
    "BandLoss",
    "BodyLoss",
    "Environment",
    "Material",
    "OutsideTable",
    "Phy",
    "Posture",
    "ReferenceLookupError",
    "ReferenceTableError",
    "Region",
    "RegionRule",
    "Standing",
    "UnknownKey",
    "UnknownRadioChannel",
    "body_loss_db",
    "body_losses",
    "environments",
    "materials",
    "phys",
    "region_rules",
    "regions",
]
