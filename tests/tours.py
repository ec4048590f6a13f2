"""Small projects for the tests, written through the services as everybody writes."""

import itertools
from functools import cache
from typing import Any

from django.contrib.auth.hashers import get_hasher, make_password

from showplan.records.models import (
    Crew,
    Level,
    Load,
    Network,
    Node,
    NodeType,
    Placement,
    Project,
    Supply,
    User,
    Venue,
    Wall,
    Zone,
)
from showplan.services.editing import Actor, create_project, edit

_numbers = itertools.count(1)


def a_user(name: str | None = None, password: str | None = None) -> User:
    """A user; without a password nobody can sign in as them, which is quicker."""
    user = User(username=name or f"user-{next(_numbers)}", password=_hashed(password, get_hasher().algorithm))
    user.save()
    return user


@cache
def _hashed(password: str | None, algorithm: str) -> str:
    """The hash is slow on purpose, a third of a second: once for all users of a test run."""
    return make_password(password, hasher=algorithm)


def by(user: User) -> Actor:
    """The user as an actor of the tests."""
    return Actor(user, "test")


def a_project(owner: User, name: str = "Lantern walk") -> Project:
    """An empty project."""
    return create_project(name=name, owner=owner, actor=by(owner))


def a_venue(project: Project, owner: User, name: str = "Corn hall", **values: Any) -> Venue:
    """A venue with one level of 40 x 20 m, two walls and a zone."""
    facts = {"region": "us", "environment": "theatre-hall", "path_loss_exponent": 2.2} | values
    with edit(project, by(owner)) as change:
        [venue] = change.create([Venue(project=project, name=name, **facts)])
        [level] = change.create([Level(venue=venue, name="Hall", clear_height_m=6.0, width_m=40.0, depth_m=20.0)])
        change.create(
            [
                Wall(
                    level=level,
                    label=label,
                    start_x_m=x,
                    start_y_m=0.0,
                    end_x_m=x,
                    end_y_m=15.0,
                    height_m=4.0,
                    material="brick-200",
                )
                for label, x in (("W1", 15.0), ("W2", 30.0))
            ]
        )
        change.create([Zone(level=level, name="Stage", corners_m=[[2, 2], [10, 2], [10, 8], [2, 8]])])
    return venue


def a_kit(project: Project, owner: User, receivers: int = 6) -> list[Node]:
    """A gateway, a relay and some receivers of one network, each receiver with a battery and two loads."""
    with edit(project, by(owner)) as change:
        [crew] = change.create([Crew(project=project, name="Costume")])
        [sort] = change.create(
            [
                NodeType(
                    project=project,
                    name="Pocket",
                    phy="oqpsk-2450",
                    transmit_power_dbm=3.0,
                    sensitivity_dbm=-97.0,
                    outputs=4,
                )
            ]
        )
        [network] = change.create([Network(project=project, name="Show", phy="oqpsk-2450", radio_channel=25, pan_id=7)])
        roles = ["gateway", "relay", *["receiver"] * receivers]
        supplies = change.create(
            [
                Supply(project=project, label=f"B{i}", kind="battery", nominal_v=12.8, capacity_ah=2.0)
                for i in range(len(roles))
            ]
        )
        nodes = change.create(
            [
                Node(
                    project=project,
                    label=f"N{i}",
                    role=role,
                    node_type=sort,
                    network=network,
                    short_address=i,
                    supply=supplies[i],
                    crew=crew,
                )
                for i, role in enumerate(roles)
            ]
        )
        change.create(
            [
                Load(
                    project=project,
                    label=f"{node.label}-{output}",
                    kind="tape",
                    node=node,
                    output=output,
                    rated_v=12.0,
                    rated_w=7.2,
                    length_m=0.5,
                    cable_length_m=1.0,
                    cable_area_mm2=0.5,
                )
                for node in nodes[2:]
                for output in (1, 2)
            ]
        )
    return list(nodes)


def place_all(venue: Venue, owner: User, nodes: list[Node]) -> list[Placement]:
    """Every node on the hall's floor, in rows of ten from the left."""
    level = venue.levels.get()
    with edit(venue.project, by(owner)) as change:
        return list(
            change.create(
                [
                    Placement(
                        venue=venue,
                        node=node,
                        level=level,
                        x_m=2.0 + 3.5 * (i % 10),
                        y_m=18.0 - 0.8 * (i // 10),
                        height_m=1.5,
                    )
                    for i, node in enumerate(nodes)
                ]
            )
        )


def a_tour(owner: User, receivers: int = 6, name: str = "Lantern walk") -> Venue:
    """A project with one venue in which every node of its kit is placed; the venue."""
    project = a_project(owner, name)
    venue = a_venue(project, owner)
    place_all(venue, owner, a_kit(project, owner, receivers))
    return venue
