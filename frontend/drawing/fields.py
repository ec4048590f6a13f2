"""The numbers beside the drawing: which fields each kind of record has in the side form, with label and unit."""

from typing import Any

from showplan.services.knowledge import reference_tables


def drawn_kinds() -> list[dict[str, Any]]:
    """The kinds of record on the plan in the order of the lists.

    Each: the name of its collection in the API, its words, which field names it, and its fields. A field's `kind`
    is text, number, choice, yes-no or corners; `unit` stands beside its label.
    """
    return [
        {
            "path": "levels",
            "singular": "level",
            "plural": "levels",
            "name": "name",
            "fields": [
                _text("name", "name"),
                _metres("elevation_m", "elevation of the floor"),
                _metres("clear_height_m", "clear height"),
                _metres("origin_x_m", "left edge, x"),
                _metres("origin_y_m", "lower edge, y"),
                _metres("width_m", "width, along x"),
                _metres("depth_m", "depth, along y"),
                _material("floor_material", "material of the floor"),
                {
                    "name": "plan_metres_per_pixel",
                    "label": "scale of the plan picture",
                    "kind": "number",
                    "unit": "m/px",
                },
            ],
        },
        {
            "path": "walls",
            "singular": "wall",
            "plural": "walls",
            "name": "label",
            "fields": [
                _text("label", "label"),
                _metres("start_x_m", "start, x"),
                _metres("start_y_m", "start, y"),
                _metres("end_x_m", "end, x"),
                _metres("end_y_m", "end, y"),
                _metres("base_m", "base"),
                _metres("height_m", "height"),
                _material("material", "material"),
                _yes_no("has_open_top", "radio may bend over its top"),
            ],
        },
        {
            "path": "zones",
            "singular": "zone",
            "plural": "zones",
            "name": "name",
            "fields": [
                _text("name", "name"),
                _corners(),
            ],
        },
        {
            "path": "crowd-areas",
            "singular": "crowd area",
            "plural": "crowd areas",
            "name": "label",
            "fields": [
                _text("label", "label"),
                _corners(),
                _metres("height_m", "height of the people"),
                _number("loss_db_per_m", "loss of a metre of them", "dB"),
                _number("most_db", "most they can cost", "dB"),
            ],
        },
        {
            "path": "candidate-sites",
            "singular": "candidate site",
            "plural": "candidate sites",
            "name": "label",
            "fields": [
                _text("label", "label"),
                _metres("x_m", "x"),
                _metres("y_m", "y"),
                _metres("height_m", "height above the floor"),
                _yes_no("has_mains", "mains here"),
                _number("cost", "weight against other sites", ""),
                {
                    "name": "relay_use",
                    "label": "a relay here",
                    "kind": "choice",
                    "unit": "",
                    "options": [["may", "may stand"], ["must", "must stand"], ["never", "never stands"]],
                },
            ],
        },
        {
            "path": "placements",
            "singular": "placement",
            "plural": "placements",
            "name": "node",
            "fields": [
                {"name": "node", "label": "node", "kind": "choice", "unit": "", "from": "nodes"},
                {"name": "zone", "label": "zone in which it moves", "kind": "choice", "unit": "", "from": "zones"},
                _metres("x_m", "x"),
                _metres("y_m", "y"),
                _metres("height_m", "height above the floor"),
            ],
        },
    ]


def _text(name: str, label: str) -> dict[str, Any]:
    return {"name": name, "label": label, "kind": "text", "unit": ""}


def _corners() -> dict[str, Any]:
    return {"name": "corners_m", "label": "corners, one x and y a line", "kind": "corners", "unit": "m"}


def _yes_no(name: str, label: str) -> dict[str, Any]:
    return {"name": name, "label": label, "kind": "yes-no", "unit": ""}


def _metres(name: str, label: str) -> dict[str, Any]:
    return _number(name, label, "m")


def _number(name: str, label: str, unit: str) -> dict[str, Any]:
    return {"name": name, "label": label, "kind": "number", "unit": unit}


def _material(name: str, label: str) -> dict[str, Any]:
    options = [[key, row.name] for key, row in reference_tables()["materials"].items()]
    return {"name": name, "label": label, "kind": "choice", "unit": "", "options": options}
