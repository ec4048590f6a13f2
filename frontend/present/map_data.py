"""The drawing as plain values for the page's script; points are [x, y] in metres, y up."""

from typing import Any

from frontend.present.drawing import Drawing


def map_data(
    drawing: Drawing, coverage: dict[str, Any] | None, picture: dict[str, Any] | None = None
) -> dict[str, Any]:
    """What the script draws.

    `coverage` has the addresses of its `picture` and `values` and how to say them (`reading`), None where nothing
    transmits; `picture` is None where
    the level has none.
    """
    level = drawing.level
    (x_m, y_m) = level.origin_m
    return {
        "bounds": [[x_m, y_m], [x_m + level.width_m, y_m + level.depth_m]],
        "coverage": coverage,
        "picture": picture,
        "zones": [
            {"name": zone.name, "corners": [list(corner) for corner in zone.corners_m]} for zone in drawing.zones
        ],
        "crowds": [
            {"name": area.label, "corners": [list(corner) for corner in area.corners_m]} for area in drawing.crowd_areas
        ],
        "walls": [
            {
                "label": wall.label,
                "points": [list(wall.start_m), list(wall.end_m)],
                "letter": wall.letter,
                "weight": wall.weight,
            }
            for wall in drawing.walls
        ],
        "sites": [
            {"label": site.label, "at": list(site.position_m), "mains": site.has_mains} for site in drawing.sites
        ],
        "links": [
            {
                "points": [[link.start.x_m, link.start.y_m], [link.end.x_m, link.end.y_m]],
                "colour": link.margin_class.colour,
                "dash": link.margin_class.dash,
                "backbone": link.is_backbone,
                "says": link.says,
            }
            for link in drawing.links
        ],
        "nodes": [
            {
                "label": node.label if node.is_here else f"{node.label} ({node.place.level})",
                "role": node.role,
                "at": [node.place.x_m, node.place.y_m],
                "kind": node.kind,
                "says": node.says,
            }
            for node in drawing.nodes
        ],
    }
