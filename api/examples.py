"""One example of each kind of record and of a few other bodies, for the API's description."""

from collections.abc import Iterator, Mapping
from typing import Any, Final

from showplan.services.nouns import NOUNS

BOOKKEEPING: Final = {"created_at": "2026-09-01T08:30:00Z", "changed_at": "2026-09-02T16:05:00Z"}


def _id(number: int) -> str:
    return f"5c0de000-0000-4000-8000-{number:012d}"


CREW, NODE_TYPE, NETWORK, SUPPLY, NODE, LEVEL, ZONE = (_id(number) for number in range(1, 8))

RECORDS: Final[Mapping[str, Mapping[str, Any]]] = {
    "Crew": {"name": "Costume"},
    "Venue": {
        "name": "Corn hall",
        "city": "Harbour town",
        "region": "us",
        "environment": "theatre-hall",
        "path_loss_model": "log-distance",
        "path_loss_exponent": 2.2,
        "surroundings": "",
        "fade_margin_db": 10.0,
        "note": "load in through the yard",
    },
    "NodeType": {
        "name": "Pocket",
        "phy": "oqpsk-2450",
        "transmit_power_dbm": 3.0,
        "antenna_gain_dbi": 0.0,
        "cable_loss_db": 0.0,
        "sensitivity_dbm": -97.0,
        "outputs": 4,
        "output_limit_a": 2.0,
        "standing_current_ma": 22.0,
        "noise_figure_db": 6.0,
        "antenna_pattern": "omni",
        "pattern_exponent": 2.0,
        "front_to_back_db": 15.0,
        "polarisation": "vertical",
        "note": "",
    },
    "Network": {"name": "Show", "phy": "oqpsk-2450", "radio_channel": 25, "pan_id": 7},
    "Supply": {
        "label": "B1",
        "kind": "battery",
        "chemistry": "LiFePO4",
        "nominal_v": 12.8,
        "capacity_ah": 2.0,
        "internal_resistance_ohm": 0.08,
        "current_limit_a": 5.0,
    },
    "Node": {
        "label": "Lantern 4",
        "role": "receiver",
        "node_type": NODE_TYPE,
        "network": NETWORK,
        "short_address": 4,
        "supply": SUPPLY,
        "crew": CREW,
        "is_worn": True,
        "note": "",
    },
    "Load": {
        "label": "Hem",
        "kind": "tape",
        "node": NODE,
        "output": 1,
        "slot": 12,
        "rated_v": 12.0,
        "rated_w": 7.2,
        "rated_a": None,
        "length_m": 0.5,
        "cable_length_m": 1.0,
        "cable_area_mm2": 0.5,
    },
    "Level": {
        "name": "Hall",
        "elevation_m": 0.0,
        "clear_height_m": 6.0,
        "origin_x_m": 0.0,
        "origin_y_m": 0.0,
        "width_m": 40.0,
        "depth_m": 20.0,
        "floor_material": "concrete-200",
    },
    "Wall": {
        "label": "W1",
        "level": LEVEL,
        "start_x_m": 15.0,
        "start_y_m": 0.0,
        "end_x_m": 15.0,
        "end_y_m": 15.0,
        "base_m": 0.0,
        "height_m": 4.0,
        "material": "brick-200",
        "has_open_top": False,
    },
    "Zone": {"level": LEVEL, "name": "Stage", "corners_m": [[2.0, 2.0], [10.0, 2.0], [10.0, 8.0], [2.0, 8.0]]},
    "CrowdArea": {
        "level": LEVEL,
        "label": "Stalls",
        "corners_m": [[12.0, 2.0], [30.0, 2.0], [30.0, 18.0], [12.0, 18.0]],
        "height_m": 1.3,
        "loss_db_per_m": 0.5,
        "most_db": 12.0,
    },
    "ChannelChoice": {"network": NETWORK, "radio_channel": 26},
    "Calibration": {
        "name": "calibration 1",
        "network": "Show",
        "reference_offset_db": 1.4,
        "path_loss_exponent": 2.31,
        "shadowing_sigma_db": 3.9,
        "losses": "wall brick-200 6.1\nfloor concrete-200 13.4",
        "furthest_m": 31.5,
        "spots": 24,
        "rms_before_db": 6.8,
        "rms_after_db": 4.1,
        "latest_reading_at": "2027-05-01T16:20:00Z",
        "is_applied": True,
    },
    "CandidateSite": {
        "label": "Bar shelf",
        "level": LEVEL,
        "x_m": 38.0,
        "y_m": 2.0,
        "height_m": 2.0,
        "has_mains": True,
        "cost": 1.5,
        "relay_use": "may",
    },
    "OccupiedSpectrum": {
        "label": "house Wi-Fi",
        "centre_mhz": 2472.0,
        "bandwidth_mhz": 20.0,
        "received_dbm": -60.0,
        "busy_share": 0.1,
        "full_house_dbm": -52.0,
        "full_house_busy_share": 0.4,
        "note": "",
    },
    "Placement": {
        "node": NODE,
        "level": LEVEL,
        "zone": None,
        "x_m": 5.5,
        "y_m": 18.0,
        "height_m": 1.5,
        "aim_deg": 0.0,
        "tilt_deg": 0.0,
    },
    "TourDate": {"date": "2026-10-04", "kind": "show", "note": "doors at 19:00"},
    "Reading": {
        "level": LEVEL,
        "x_m": 12.0,
        "y_m": 4.5,
        "height_m": 1.2,
        "transmitter": NODE,
        "receiver_type": NODE_TYPE,
        "received_dbm": -71.5,
        "packet_error": 0.01,
        "taken_at": "2026-10-03T14:20:00Z",
        "taken_by": "Vera",
    },
}

OTHERS: Final[Mapping[str, Any]] = {
    "ProjectRequest": {"name": "Lantern walk", "note": "autumn tour"},
    "TokenRequest": {"name": "nightly export", "project": None, "scopes": ["read", "compute"], "days": 90},
    "InvitationRequest": {"role": "editor", "crew": CREW, "days": 7},
    "JobRequest": {"kind": "coverage-of-levels", "parameters": {"step_m": 0.5, "network": "Show"}},
    "UndoRequest": {"revision": 12},
    "NodeBulkRequest": {
        "create": [{"label": "Lantern 5", "role": "receiver", "node_type": NODE_TYPE}],
        "update": [{"id": NODE, "version": 3, "set": {"is_worn": True}, "clear": ["crew"]}],
        "update_where": {"filter": {"role": "relay"}, "set": {"network": NETWORK}},
    },
    "Problem": {
        "type": "urn:showplan:problem:invalid-input",
        "title": "The values break a rule",
        "status": 422,
        "detail": "/height_m: must be from 1e-06 to 500, not -3",
        "instance": f"/api/v1/venues/{_id(9)}/walls/",
        "request_id": "f3b1c2",
        "errors": [{"pointer": "/height_m", "detail": "must be from 1e-06 to 500, not -3"}],
    },
}


def examples() -> Iterator[tuple[str, Any]]:
    """Pairs of component name and example; every noun must have one."""
    for number, noun in enumerate(NOUNS, start=20):
        name = noun.model.__name__
        values = RECORDS[name]
        yield f"{name}Request", dict(values)
        yield name, {"id": _id(number), "version": 3, **values, **BOOKKEEPING}
    yield from OTHERS.items()
