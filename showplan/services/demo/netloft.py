"""The third venue: a long gallery with thick cross walls, in Japan."""

from collections.abc import Mapping
from datetime import date

from showplan.records.models import Level, Node, Project, TourDate
from showplan.services.demo import backbone as b
from showplan.services.demo import costumes as c
from showplan.services.demo import props as p
from showplan.services.demo import scenery as s
from showplan.services.demo.drawing import VenueDrawing

NAME = "The Long Netloft"


def netloft(project: Project, nodes: Mapping[str, Node]) -> VenueDrawing:
    """Six rooms in a row, 84 by 12 m, behind 300 mm concrete; a wooden loft over two of them."""
    drawing = VenueDrawing(
        project,
        nodes,
        NAME,
        city="Shirokusa",
        region="jp",
        environment="corridor-gallery",
        path_loss_exponent=2.77,
        fade_margin_db=10.0,
        coldest_c=16.0,
        warmest_c=33.0,
        reached_by_air=True,
        note="No walk test yet: the figures are a forecast. The cold room's door is steel and stays shut.",
    )
    floor = drawing.level(
        "Net floor", elevation_m=0.0, clear_height_m=4.2, width_m=84.0, depth_m=12.0, floor_material="concrete-300"
    )
    loft = drawing.level(
        "Sail loft",
        elevation_m=4.5,
        clear_height_m=3.6,
        origin_x_m=28.0,
        width_m=32.0,
        depth_m=12.0,
        floor_material="wood-40",
    )
    _walls(drawing, floor, loft)
    _zones_and_sites(drawing, floor, loft)
    _spectrum_and_dates(drawing)
    _place(drawing, floor, loft)
    return drawing


def _walls(drawing: VenueDrawing, floor: Level, loft: Level) -> None:
    # Doorways 2 m wide, in turn near the left and the right side of the building.
    for number, (x, door_m) in enumerate(((14, 2.0), (28, 8.0), (44, 2.0), (60, 8.0)), 1):
        drawing.wall(floor, f"cross wall {number} front", (x, 0), (x, door_m), 4.2, "concrete-300")
        drawing.wall(floor, f"cross wall {number} rear", (x, door_m + 2), (x, 12), 4.2, "concrete-300")
    drawing.wall(floor, "cold room wall front", (74, 0), (74, 5), 4.2, "concrete-300")
    drawing.wall(floor, "cold room door", (74, 5), (74, 7), 4.2, "metal")
    drawing.wall(floor, "cold room wall rear", (74, 7), (74, 12), 4.2, "concrete-300")
    drawing.wall(floor, "ticket desk screen", (4, 4), (10, 4), 2.4, "glass-6")
    drawing.wall(floor, "hung nets", (36, 1), (36, 11), 3.5, "stage-drape")
    drawing.wall(floor, "sail flats", (50, 3), (50, 9), 3.0, "wood-20")
    drawing.wall(floor, "store partition", (66, 0), (66, 8), 3.0, "plasterboard-26")
    drawing.wall(loft, "loft rail", (30, 6), (58, 6), 1.1, "wood-20")
    drawing.wall(loft, "loft office", (44, 7), (44, 12), 2.6, "plasterboard-26")


def _zones_and_sites(drawing: VenueDrawing, floor: Level, loft: Level) -> None:
    rooms = {"entrance": (1, 13), "rope room": (15, 27), "net room": (29, 43), "sail room": (45, 59), "store": (61, 73)}
    for name, (x0, x1) in {**rooms, "cold room": (75, 83)}.items():
        drawing.zone(floor, name, (x0, 1), (x1, 1), (x1, 11), (x0, 11))
    drawing.zone(loft, "loft walk", (30, 1), (58, 1), (58, 5), (30, 5))
    drawing.site(floor, "ticket desk", (7, 5), 2.2, mains=True)
    drawing.site(floor, "rope room beam", (21, 9), 3.8, mains=True)
    drawing.site(floor, "net room beam", (36, 3), 3.8, mains=True)
    drawing.site(floor, "sail room beam", (52, 9), 3.8, mains=True)
    drawing.site(floor, "store shelf", (62, 9), 3.0, mains=False)
    drawing.site(floor, "cold room hook", (76, 9.5), 3.0, mains=False)
    drawing.site(loft, "loft office", (46, 10), 1.5, mains=True)


def _spectrum_and_dates(drawing: VenueDrawing) -> None:
    drawing.occupied("house Wi-Fi, 40 MHz wide", 2422.0, 40.0, -58.0, "The house can set it to 20 MHz if asked.")
    drawing.occupied("house Wi-Fi, channel 13", 2472.0, 20.0, -64.0)
    drawing.occupied("harbour telemetry", 920.8, 0.2, -88.0)
    drawing.day(date(2027, 2, 1), TourDate.Kind.LOAD_IN)
    drawing.day(date(2027, 2, 2), TourDate.Kind.REHEARSAL)
    for day in (3, 4, 5, 6):
        drawing.day(date(2027, 2, day), TourDate.Kind.SHOW)
    drawing.day(date(2027, 2, 7), TourDate.Kind.LOAD_OUT)


def _place(drawing: VenueDrawing, floor: Level, loft: Level) -> None:
    drawing.place(b.GATEWAY, floor, (36, 3), 3.8)
    drawing.place(b.RELAYS[0], floor, (21, 9), 3.8)
    drawing.place(b.RELAYS[1], floor, (52, 9), 3.8)
    drawing.place(b.RELAYS[2], floor, (62, 9), 3.0)
    drawing.place(b.RELAYS[3], floor, (13, 3), 3.0)
    drawing.place(b.SCENERY_GATEWAY, floor, (36, 4), 3.8)
    drawing.place(b.SCENERY_RELAY, floor, (52, 8), 3.8)
    drawing.place_in("entrance", (c.BELLRINGER, p.LANTERNS[0]), 1.2)
    drawing.place_in("rope room", (*c.MOTHS[:4], c.PILOT, p.LANTERNS[1]), 1.2)
    drawing.place_in("net room", (*c.MOTHS[4:10], c.KEEPER, p.BOATS[0], p.LANTERNS[2]), 1.2)
    drawing.place_in("sail room", (*c.MOTHS[10:14], c.TIDE, p.BOATS[1], p.LANTERNS[3]), 1.2)
    drawing.place_in("store", (c.CAPTAIN, c.MOTHS[14], p.LANTERNS[4]), 1.2)
    drawing.place_in("cold room", (c.SHADOW,), 1.2)
    drawing.place_in("loft walk", c.GULLS[:3], 1.2)
    points = {
        s.TOWER: ((38, 9), 2.0),
        s.LENS: ((38, 9), 3.8),
        s.MOON: ((56, 6), 3.5),
        s.PIERS[0]: ((31, 2), 0.4),
        s.PIERS[1]: ((31, 10), 0.4),
        s.BUOYS[0]: ((20, 3), 0.6),
        s.BUOYS[1]: ((48, 4), 0.6),
        s.BUOYS[2]: ((78, 9), 0.6),
        s.WAVES[1]: ((34, 6), 0.5),
    }
    for label, (at_m, height_m) in points.items():
        drawing.place(label, floor, at_m, height_m)
