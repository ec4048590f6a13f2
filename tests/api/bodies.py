"""A valid body for a new record of every noun, and a change to it."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date, timedelta
from typing import Any

from showplan.records.models import Crew, Level, Load, Network, Node, NodeType, ShowPart, User, Venue
from showplan.services.editing import edit
from showplan.services.nouns import Noun
from tests.tours import by

SPARE_NODES = 40
Body = dict[str, Any]


@dataclass(frozen=True)
class Given:
    """Records that new ones may refer to: their identifiers as text. No spare node has a place or a load."""

    project: str
    venue: str
    level: str
    crew: str
    network: str
    node_type: str
    nodes: tuple[str, ...]
    networks: tuple[str, ...]
    load: str
    parts: tuple[str, ...]

    def parent(self, noun: Noun) -> str:
        """The address that the noun's collection hangs on."""
        return f"projects/{self.project}/" if noun.parent == "project" else f"venues/{self.venue}/"

    def collection(self, noun: Noun) -> str:
        """The address of the noun's collection."""
        return f"{self.parent(noun)}{noun.path}/"


def room_for_more(venue: Venue, owner: User) -> Given:
    """Spare nodes of a type with many outputs, networks, parts of the day and an empty level, in venue and project."""
    project = venue.project
    with edit(project, by(owner)) as change:
        [board] = change.create(
            [
                NodeType(
                    project=project,
                    name="Board",
                    phy="oqpsk-2450",
                    transmit_power_dbm=3.0,
                    sensitivity_dbm=-97.0,
                    outputs=64,
                )
            ]
        )
        spares = [
            Node(project=project, label=f"spare {i:02}", role="receiver", node_type=board) for i in range(SPARE_NODES)
        ]
        nodes = change.create(spares)
        networks = change.create(
            [
                Network(project=project, name=f"spare {i:02}", phy="oqpsk-2450", radio_channel=20, pan_id=3000 + i)
                for i in range(SPARE_NODES)
            ]
        )
        parts = change.create(
            [
                ShowPart(project=project, name=f"spare {i:02}", position=900 + i, kind="act", minutes=30.0)
                for i in range(SPARE_NODES)
            ]
        )
        [attic] = change.create([Level(venue=venue, name="Attic", clear_height_m=3.0, width_m=50.0, depth_m=50.0)])
    return Given(
        project=str(project.pk),
        venue=str(venue.pk),
        level=str(attic.pk),
        crew=str(Crew.objects.get(project=project).pk),
        network=str(Network.objects.get(project=project, name="Show").pk),
        node_type=str(board.pk),
        nodes=tuple(str(node.pk) for node in nodes),
        networks=tuple(str(network.pk) for network in networks),
        load=str(Load.objects.filter(project=project).values_list("pk", flat=True)[0]),
        parts=tuple(str(part.pk) for part in parts),
    )


def new_body(noun: Noun, given: Given, number: int) -> Body:
    """A valid new record; those of different numbers (0 to 39) do not collide. Their order is that of the numbers."""
    return _NEW[noun.path](given, number)


def change_to(noun: Noun) -> Body:
    """Fields and new values that differ from those of every `new_body`."""
    return dict(_CHANGES[noun.path])


def _named(number: int) -> str:
    return f"new {number:02}"


_NEW: Mapping[str, Callable[[Given, int], Body]] = {
    "crews": lambda given, n: {"name": _named(n)},
    "venues": lambda given, n: {
        "name": _named(n),
        "region": "eu",
        "environment": "theatre-hall",
        "path_loss_exponent": 2.2,
    },
    "own-phys": lambda given, n: {
        "key": _named(n),
        "band_low_mhz": 868,
        "band_high_mhz": 868.6,
        "first_centre_mhz": 868.3,
        "bandwidth_mhz": 0.25,
        "bit_rate_kbps": 100,
        "sensitivity_dbm": -102,
    },
    "node-types": lambda given, n: {
        "name": _named(n),
        "phy": "oqpsk-868",
        "transmit_power_dbm": 3,
        "sensitivity_dbm": -97.5,
    },
    "networks": lambda given, n: {"name": _named(n), "phy": "oqpsk-2450", "radio_channel": 11 + n % 16, "pan_id": n},
    "timelines": lambda given, n: {"name": _named(n), "rows": f"0,1,255\n{n + 1}.5,1,0"},
    "traffic-settings": lambda given, n: {"network": given.networks[n], "refresh_hz": 20.5},
    "feeds": lambda given, n: {"network": given.networks[n], "baud": 115200},
    "supplies": lambda given, n: {"label": _named(n), "kind": "mains", "nominal_v": 12},
    "nodes": lambda given, n: {
        "label": _named(n),
        "role": "receiver",
        "node_type": given.node_type,
        "network": given.network,
        "short_address": 5000 + n,
        "crew": given.crew,
    },
    "loads": lambda given, n: {
        "label": _named(n),
        "kind": "lamp",
        "node": given.nodes[0],
        "output": n + 1,
        "rated_v": 12,
        "rated_w": 5,
        "cable_length_m": 1.5,
        "cable_area_mm2": 0.5,
    },
    "show-parts": lambda given, n: {"name": _named(n), "position": n, "kind": "act", "minutes": 45},
    "part-levels": lambda given, n: {"part": given.parts[n], "load": given.load, "level": 0.25},
    "levels": lambda given, n: {"name": _named(n), "clear_height_m": 3, "width_m": 10, "depth_m": 10},
    "walls": lambda given, n: {
        "label": _named(n),
        "level": given.level,
        "start_x_m": n,
        "start_y_m": 0,
        "end_x_m": n,
        "end_y_m": 5,
        "height_m": 2.5,
        "material": "wood-20",
    },
    "zones": lambda given, n: {
        "name": _named(n),
        "level": given.level,
        "corners_m": [[n, 0], [n + 1, 0], [n + 1, 1.5]],
    },
    "crowd-areas": lambda given, n: {
        "label": _named(n),
        "level": given.level,
        "corners_m": [[n, 0], [n + 1, 0], [n + 1, 1.5]],
        "loss_db_per_m": 0.5,
    },
    "channel-choices": lambda given, n: {"network": given.networks[n], "radio_channel": 11 + n % 16},
    "calibrations": lambda given, n: {
        "name": _named(n),
        "network": "Show",
        "reference_offset_db": 1.5,
        "path_loss_exponent": 2.1,
        "shadowing_sigma_db": 4,
        "losses": "wall brick-200 6.5",
        "furthest_m": 20,
    },
    "candidate-sites": lambda given, n: {
        "label": _named(n),
        "level": given.level,
        "x_m": n,
        "y_m": 1,
        "height_m": 2,
        "has_mains": True,
    },
    "occupied-spectrum": lambda given, n: {"label": _named(n), "centre_mhz": 2412 + n, "bandwidth_mhz": 20},
    "placements": lambda given, n: {
        "node": given.nodes[n],
        "level": given.level,
        "x_m": n,
        "y_m": 2,
        "height_m": 1.5,
    },
    "tour-dates": lambda given, n: {
        "date": (date(2027, 5, 1) + timedelta(days=n)).isoformat(),
        "kind": "rehearsal",
    },
    "readings": lambda given, n: {
        "level": given.level,
        "x_m": n,
        "y_m": 3,
        "height_m": 1.5,
        "transmitter": given.nodes[0],
        "receiver_type": given.node_type,
        "received_dbm": -60.5,
        "taken_at": f"2027-05-01T12:{n:02}:00Z",
    },
}

_CHANGES: Mapping[str, Body] = {
    "crews": {"name": "changed"},
    "venues": {"city": "Ulm", "note": "by the river"},
    "node-types": {"outputs": 8, "output_limit_a": 2.5},
    "networks": {"pan_id": 4000},
    "own-phys": {"bit_rate_kbps": 50.5, "longest_frame_octets": 255},
    "timelines": {"rows": "0,1,128\n60,1,0"},
    "traffic-settings": {"addressing": "each", "relaying": "routed", "acknowledged": True},
    "feeds": {"kind": "e1.31", "slots": 96},
    "supplies": {"current_limit_a": 3.5, "chemistry": "nimh"},
    "nodes": {"is_worn": True, "on_signal_loss": "fade-out", "note": "left sleeve"},
    "loads": {"slot": 17, "rated_w": 6, "behaviour": "constant-power", "fuse_a": 2},
    "show-parts": {"level": 0.5, "minutes": 52.5},
    "part-levels": {"level": 1.0},
    "levels": {"elevation_m": -3.5},
    "walls": {"material": "brick-102", "base_m": 0.5},
    "zones": {"corners_m": [[0, 0], [9, 0], [9, 9], [0, 9]]},
    "crowd-areas": {"height_m": 1.8, "most_db": 20},
    "channel-choices": {"radio_channel": 900},
    "calibrations": {"losses": "floor concrete-200 9.5", "spots": 7},
    "candidate-sites": {"has_mains": False, "height_m": 2.75, "cost": 2.5, "relay_use": "never"},
    "occupied-spectrum": {"received_dbm": -71, "note": "hears it at the gateway"},
    "placements": {"x_m": 44.5},
    "tour-dates": {"note": "from noon"},
    "readings": {"packet_error": 0.25, "taken_by": "Ana"},
}
