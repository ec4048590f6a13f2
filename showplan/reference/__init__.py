"""Dated reference tables: each row names its source and how far it can be trusted. No Django."""

from showplan.reference.body_losses import BodyLoss, Posture, body_loss_db, body_losses
from showplan.reference.crowd import Crowd, crowds
from showplan.reference.environments import Environment, environments
from showplan.reference.indoor import (
    AlphaBetaGamma,
    FloorLoss,
    IndoorShadowing,
    PowerLoss,
    alpha_beta_gamma,
    floor_losses,
    indoor_shadowing,
    power_losses,
)
from showplan.reference.materials import BandLoss, Material, materials
from showplan.reference.phys import ACKNOWLEDGEMENT_OCTETS, Phy, phys
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
    "ACKNOWLEDGEMENT_OCTETS",
    "AlphaBetaGamma",
    "BandLoss",
    "BodyLoss",
    "Crowd",
    "Environment",
    "FloorLoss",
    "IndoorShadowing",
    "Material",
    "OutsideTable",
    "Phy",
    "Posture",
    "PowerLoss",
    "ReferenceLookupError",
    "ReferenceTableError",
    "Region",
    "RegionRule",
    "Standing",
    "UnknownKey",
    "UnknownRadioChannel",
    "alpha_beta_gamma",
    "body_loss_db",
    "body_losses",
    "crowds",
    "environments",
    "floor_losses",
    "indoor_shadowing",
    "materials",
    "phys",
    "power_losses",
    "region_rules",
    "regions",
]
