"""All record classes, gathered for Django."""

from showplan.records.calibrations import Calibration
from showplan.records.doors import Invitation, KeptAnswer, SignInAttempt, Token
from showplan.records.history import Change
from showplan.records.jobs import Job, Worker
from showplan.records.kit import Network, Node, NodeType
from showplan.records.loads import Load
from showplan.records.people import Crew, Membership, Project, User
from showplan.records.placements import ChannelChoice, Placement, Reading, TourDate
from showplan.records.show_day import PartLevel, ShowPart
from showplan.records.supplies import Supply
from showplan.records.timelines import ShowTimeline
from showplan.records.traffic import Feed, OwnPhy, Traffic
from showplan.records.venues import CandidateSite, CrowdArea, Level, OccupiedSpectrum, Venue, Wall, Zone

__all__ = [
    "Calibration",
    "CandidateSite",
    "Change",
    "ChannelChoice",
    "Crew",
    "CrowdArea",
    "Feed",
    "Invitation",
    "Job",
    "KeptAnswer",
    "Level",
    "Load",
    "Membership",
    "Network",
    "Node",
    "NodeType",
    "OccupiedSpectrum",
    "OwnPhy",
    "PartLevel",
    "Placement",
    "Project",
    "Reading",
    "ShowPart",
    "ShowTimeline",
    "SignInAttempt",
    "Supply",
    "Token",
    "TourDate",
    "Traffic",
    "User",
    "Venue",
    "Wall",
    "Worker",
    "Zone",
]
