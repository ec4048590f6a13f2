"""Field names, kinds and values in the words of the crew."""

import re
from collections.abc import Mapping
from datetime import UTC, datetime
from typing import Any

from django.db import models
from django.utils.dateparse import parse_date, parse_datetime

from frontend.editing import power_words
from frontend.present.words import day, number
from showplan.records.base import MetresField, Record
from showplan.records.references import ReferenceKey

NOTHING = "–"
LONGEST_NUMBER = 15
LONGEST_SHOWN = 200  # characters of a text in a list or in the history
UNITS = {
    "_db_per_m": "dB/m",
    "_ohm_per_m": "Ω/m",
    "_k_per_w": "K/W",
    "_m": "m",
    "_deg": "°",
    "_mm2": "mm²",
    "_mm": "mm",
    "_db": "dB",
    "_dbi": "dBi",
    "_dbm": "dBm",
    "_mhz": "MHz",
    "_hz": "Hz",
    "_kbps": "kbit/s",
    "_octets": "octets",
    "_percent": "%",
    "_ma": "mA",
    "_a": "A",
    "_ah": "Ah",
    "_v": "V",
    "_w": "W",
    "_wh": "Wh",
    "_ohm": "Ω",
    "_mohm": "mΩ",
    "_uf": "µF",
    "_c": "°C",
    "_hours": "h",
    "_ms": "ms",
    "_us": "µs",
    "_s": "s",
}
LABELS = {
    "base_m": "Lower edge above the floor",
    "cable_area_mm2": "Conductor area of the cable",
    "cable_length_m": "Length of the cable, one way",
    "cable_loss_db": "Loss of the antenna cable",
    "capacity_ah": "Capacity",
    "centre_mhz": "Centre of the band",
    "bandwidth_mhz": "Width of the band",
    "clear_height_m": "Clear height",
    "corners_m": "Corners",
    "current_limit_a": "Current limit",
    "depth_m": "Depth, along y",
    "elevation_m": "Elevation of the floor",
    "end_x_m": "End x, to the right",
    "end_y_m": "End y, up the plan",
    "fade_margin_db": "Fade margin",
    "has_mains": "Mains within reach",
    "height_m": "Height above the floor",
    "internal_resistance_ohm": "Internal resistance",
    "is_worn": "Worn on a body",
    "length_m": "Length of the tape",
    "nominal_v": "Nominal voltage",
    "origin_x_m": "Left edge on the plan, x",
    "origin_y_m": "Lower edge on the plan, y",
    "output_limit_a": "Limit of one output",
    "packet_error": "Share of packets lost",
    "pan_id": "PAN identifier",
    "phy": "Radio (PHY)",
    "plan_metres_per_pixel": "Scale of the plan picture (m per pixel)",
    "rated_a": "Rated current",
    "rated_v": "Rated voltage",
    "rated_w": "Rated power",
    "received_dbm": "Received power",
    "receiver_type": "Node type that listened",
    "sensitivity_dbm": "Sensitivity",
    "start_x_m": "Start x, to the right",
    "start_y_m": "Start y, up the plan",
    "taken_at": "Taken at (UTC)",
    "taken_by": "Taken by",
    "transmit_power_dbm": "Transmit power",
    "transmitter": "Node that sent",
    "width_m": "Width, along x",
    "x_m": "x, to the right",
    "y_m": "y, up the plan",
    "Wall.height_m": "Height of the wall",
    "Node.short_address": "Short address",
    "Load.output": "Output of the node",
    "accepted_at": "Accepted at",
    "accepted_by": "Accepted by",
    "user": "Member",
    "aim_deg": "Where the antenna looks in plan, anticlockwise from x",
    "tilt_deg": "How far the antenna looks up",
    "antenna_pattern": "Antenna",
    "pattern_exponent": "Narrowness of a patch (exponent of the cosine)",
    "front_to_back_db": "Front to back of a patch",
    "busy_share": "Share of the time in which it sends",
    "full_house_dbm": "Received power with the house full",
    "full_house_busy_share": "The same share with the house full",
    "has_open_top": "Radio may bend over its top",
    "path_loss_model": "Path-loss model",
    "path_loss_exponent": "Path-loss exponent",
    "CrowdArea.height_m": "Height of the people",
    "loss_db_per_m": "Loss of a metre of people",
    "most_db": "Most the crowd can cost",
    "CandidateSite.cost": "Weight of the site against others",
    "CandidateSite.relay_use": "A relay on it",
    "Calibration.network": "Network whose readings it rests on",
    "reference_offset_db": "Loss at 1 m beyond free space",
    "shadowing_sigma_db": "Shadowing (standard deviation)",
    "losses": "Losses by material",
    "furthest_m": "Longest path that was measured",
    "spots": "Spots measured",
    "rms_before_db": "Error before (RMS)",
    "rms_after_db": "Error after (RMS)",
    "latest_reading_at": "Last reading in it",
    "is_applied": "In use",
    "on_signal_loss": "When no packet comes any more, its outputs",
    "signal_lost_after_s": "Signal counts as lost after",
    "OwnPhy.key": "Key, the name by which networks and node types call it",
    "band_low_mhz": "Lower edge of the band",
    "band_high_mhz": "Upper edge of the band",
    "first_channel": "First radio channel",
    "last_channel": "Last radio channel",
    "first_centre_mhz": "Centre of the first radio channel",
    "spacing_mhz": "From one radio channel to the next",
    "OwnPhy.bandwidth_mhz": "Width of a radio channel",
    "bit_rate_kbps": "Bit rate",
    "OwnPhy.header_octets": "Preamble, start of frame and PHY header",
    "longest_frame_octets": "Longest frame, check sum included",
    "turnaround_us": "From receiving to sending",
    "sensing_us": "Listening before sending",
    "frame_gap_us": "Gap between frames",
    "refresh_hz": "Refresh rate",
    "Traffic.header_octets": "Header of the show's own in each packet",
    "coding": "What a frame of the show sends",
    "changed_share": "Share of the slots that change",
    "Traffic.timeline": "What changes is told by timeline",
    "ShowTimeline.rows": "Rows: time in s, slot, level",
    "keep_alive_s": "Everything again after",
    "addressing": "A packet is for",
    "groups": "Groups of nodes",
    "acknowledged": "Nodes acknowledge",
    "retries": "Retries after no acknowledgement",
    "copies": "Copies of each packet",
    "relaying": "Relays pass packets on",
    "jitter_ms": "Longest random wait before a relay repeats",
    "addresses": "Addresses in a packet",
    "security": "Security of a packet",
    "min_be": "Smallest backoff exponent",
    "max_be": "Largest backoff exponent",
    "max_backoffs": "Most backoffs",
    "node_buffer_octets": "Buffer of a node",
    "Feed.slots": "Slots in the feed",
    "rate_hz": "Frames a second",
    "baud": "Baud rate",
    "data_bits": "Data bits",
    "stop_bits": "Stop bits",
    "frame_octets": "Octets of a frame besides its slots",
    "escaping": "Reserved values are escaped",
    "clock_error_percent": "Error of the receiving clock",
    "hold_back_ms": "Longest that a bridge keeps octets",
    "buffer_octets": "Buffer in the gateway",
} | power_words.LABELS
HINTS = {
    "corners_m": "One corner on each line, x and y in metres, such as 2.5, 4. At least three.",
    "short_address": "A node in a network needs one.",
    "packet_error": "From 0 to 1.",
    "taken_at": "Such as 2027-05-01 14:30.",
    "date": "Such as 2027-05-01.",
    "Placement.zone": "For a node that moves; then leave x and y empty.",
    "Load.rated_w": "Give the power or the current, not both.",
    "Load.rated_a": "Give the power or the current, not both.",
    "Load.length_m": "A tape needs it.",
    "CrowdArea.loss_db_per_m": "An assumption of the crew.",
    "busy_share": "An assumption until somebody measures.",
    "full_house_dbm": "Only where it differs from the empty house.",
    "full_house_busy_share": "Only where it differs from the empty house.",
    "has_open_top": "For a riser, a barrier, a low flat.",
    "CandidateSite.cost": "1 is a site like any other; 2 counts as much as two of them. The crew's own measure.",
    "CandidateSite.relay_use": "What the relay planner heeds: may stand here, must, or never.",
    "ChannelChoice.radio_channel": "In this venue only; elsewhere the network keeps its own.",
    "losses": "One line each: wall or floor, the material's key and its loss in dB, such as wall brick-200 6.1.",
    "is_applied": "The plan is made with this calibration; one at most.",
    "Supply.capacity_ah": "A battery needs it.",
    "on_signal_loss": "Hold the last level, fade out or switch off.",
    "Network.phy": "From the table, or an own PHY of the project.",
    "NodeType.phy": "From the table, or an own PHY of the project.",
    "OwnPhy.key": "None that the table of PHYs has already.",
    "band_low_mhz": "The band that the rules of the region allow.",
    "last_channel": "The same as the first where there is only one.",
    "OwnPhy.header_octets": "Counted at the bit rate of the rest.",
    "changed_share": "Of all slots in one frame, from above 0 to 1; for changes only, without a timeline.",
    "Traffic.timeline": "For changes only; the plan then counts with its busiest second.",
    "ShowTimeline.rows": "One on each line, such as 12.5,3,255. Levels from 0 to 255. Longer ones as a CSV table.",
    "keep_alive_s": "For changes only: a node that missed one is put right by then.",
    "coding": "All slots each time, or those that changed.",
    "addressing": "All nodes, a group of them, or each by itself.",
    "groups": "For packets to groups only.",
    "acknowledged": "Only where each node is addressed, and relays do not repeat.",
    "retries": "Where nodes acknowledge.",
    "relaying": "By their routes, repeated by every relay, or not at all.",
    "jitter_ms": "Where every relay repeats; 0 for none.",
    "min_be": "Of channel access by unslotted CSMA-CA (IEEE 802.15.4).",
    "max_be": "At least the smallest.",
    "max_backoffs": "Then the packet is given up.",
    "Feed.kind": "A serial line, ANSI E1.11 or ANSI E1.31.",
    "Feed.slots": "All that the feed carries, whether a node uses them or not.",
    "rate_hz": "Leave empty where it sends as often as it can.",
    "baud": "For a serial feed, as are data bits, parity and stop bits.",
    "escaping": "Two values of 256 take two octets each.",
    "clock_error_percent": "From -20 to 20; how far the gateway's baud rate is off.",
} | power_words.HINTS


def label_of(field: "models.Field[Any, Any]") -> str:
    """'Height above the floor (m)' for height_m."""
    own = f"{field.model.__name__}.{field.name}"
    unit, stem = unit_of(field.name)
    words = LABELS.get(own) or LABELS.get(field.name) or _capital(stem.replace("_", " "))
    return f"{words} ({unit})" if unit else words


def hint_of(field: "models.Field[Any, Any]") -> str:
    """What helps to fill the field in; may be empty."""
    return HINTS.get(f"{field.model.__name__}.{field.name}") or HINTS.get(field.name) or str(field.help_text)


def unit_of(name: str) -> tuple[str, str]:
    """('m', 'height') for height_m; ('', name) where the name carries no unit."""
    for suffix, unit in UNITS.items():
        if name.endswith(suffix) and len(name) > len(suffix):
            return unit, name.removesuffix(suffix)
    return "", name


def title_of(record: Record) -> str:
    """The name people know the record by; a reading has none, so its time stands for it."""
    taken_at = getattr(record, "taken_at", None)
    return moment(taken_at) if taken_at else str(record)


def with_article(words: str) -> str:
    """'a wall', 'an output'."""
    return f"{'an' if words[:1] in 'aeiou' else 'a'} {words}"


def value_in_words(field: "models.Field[Any, Any]", value: Any, names: Mapping[str, str]) -> str:
    """A stored value, or one from the history, for a reader; `names` are of the records that references point to."""
    if value is None or value == "":
        return NOTHING
    if isinstance(field, models.ForeignKey):
        return names.get(str(value), "a record that is gone")
    if isinstance(field, ReferenceKey):
        row = field.keys().get(value)
        return row.name if row else str(value)
    if isinstance(field, MetresField):
        return f"{', '.join(map(number, value))} m" if value else NOTHING
    if isinstance(field, models.JSONField):
        return corners_in_words(value)
    if isinstance(field, models.DateTimeField):
        return moment(value if isinstance(value, datetime) else parse_datetime(value))
    if isinstance(field, models.DateField):
        return day(parse_date(value) if isinstance(value, str) else value)
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(field, models.TextField) and len(value) > LONGEST_SHOWN:
        return f"{value[:LONGEST_SHOWN]} … ({len(value)} characters)"
    # Whole numbers here are mostly identifiers: no spaces between thousands.
    return number(value) if isinstance(value, float) else str(value)


def corners_in_words(corners: Any) -> str:
    """'(0, 0), (4, 0), (4, 3)'; anything else stands as it is."""
    try:
        return ", ".join(f"({number(x_m)}, {number(y_m)})" for x_m, y_m in corners)
    except (TypeError, ValueError):
        return str(corners)


def moment(value: datetime | None) -> str:
    """A time of day on a date, in UTC: 'Sat 3 Oct 2026, 14:05 UTC'."""
    if value is None:
        return NOTHING
    at = value.astimezone(UTC)
    return f"{day(at.date())}, {at:%H:%M} UTC"


def whole_number(text: str) -> int | None:
    """The number that a query parameter or hidden field holds; None for anything else."""
    return int(text) if text.isascii() and text.isdigit() and len(text) <= LONGEST_NUMBER else None


def sentence(error: Exception | str) -> str:
    """A service's words as a sentence."""
    text = str(error)
    return f"{_capital(text)}{'' if text.endswith(('.', '?', '!', ':')) else '.'}"


def with_labels(message: str, labels: Mapping[str, str]) -> str:
    """Names of fields in a service's message replaced by the labels people see."""
    names = [name for name in labels if "_" in name]
    if not names:
        return message
    pattern = r"\b(" + "|".join(sorted(map(re.escape, names), key=len, reverse=True)) + r")\b"
    return re.sub(pattern, lambda found: f"“{labels[found[1]]}”", message)


def _capital(text: str) -> str:
    return f"{text[:1].upper()}{text[1:]}"
