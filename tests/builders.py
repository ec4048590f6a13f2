"""A small tour with something of everything the pages show, written through the services."""

from datetime import date

from showplan.records.models import (
    CandidateSite,
    Level,
    Membership,
    Network,
    Node,
    NodeType,
    OccupiedSpectrum,
    Placement,
    TourDate,
    User,
    Venue,
    Zone,
)
from showplan.services.editing import edit
from tests.tours import a_tour, by


def show_tour(owner: User, receivers: int = 6, name: str = "Lantern walk") -> Venue:
    """`a_tour` with a gallery above the hall, a node that moves, a site, dates, a shared and a second network."""
    venue = a_tour(owner, receivers, name)
    hall = venue.levels.get()
    with edit(venue.project, by(owner)) as change:
        [gallery] = change.create(
            [Level(venue=venue, name="Gallery", elevation_m=4.0, clear_height_m=3.0, width_m=40.0, depth_m=6.0)]
        )
        change.create([Zone(level=gallery, name="Rail & stairs", corners_m=[[0, 0], [40, 0], [40, 2], [0, 2]])])
        change.create([CandidateSite(level=hall, label="Bar shelf", x_m=38.0, y_m=2.0, height_m=2.0, has_mains=True)])
        change.create([OccupiedSpectrum(venue=venue, label="house Wi-Fi", centre_mhz=2472.0, bandwidth_mhz=20.0)])
        change.create(
            [
                TourDate(venue=venue, date=date(2026, 10, 3), kind="load-in", note="by the yard door"),
                TourDate(venue=venue, date=date(2026, 10, 4), kind="show"),
            ]
        )
    _add_walker(venue, owner)
    return venue


def _add_walker(venue: Venue, owner: User) -> None:
    """A worn receiver that moves on the hall's stage, one node without a place, and a network nobody uses here."""
    project, hall = venue.project, venue.levels.get(name="Hall")
    sort, network = NodeType.objects.get(project=project), Network.objects.get(project=project)
    with edit(project, by(owner)) as change:
        common = {"project": project, "role": "receiver", "node_type": sort, "network": network}
        [walker, _] = change.create(
            [
                Node(label="Walker <1>", short_address=9001, is_worn=True, **common),
                Node(label="Spare", short_address=9002, **common),
            ]
        )
        change.create(
            [Placement(venue=venue, node=walker, level=hall, zone=hall.zones.get(name="Stage"), height_m=1.2)]
        )
        change.create([Network(project=project, name="Reserve", phy="oqpsk-2450", radio_channel=26, pan_id=8)])


def add_member(venue: Venue, owner: User, user: User, role: str) -> None:
    """Make `user` a member of the venue's project."""
    with edit(venue.project, by(owner)) as change:
        change.create([Membership(project=venue.project, user=user, role=role)])
