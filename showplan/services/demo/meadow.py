"""The second venue: an open-air stage in a park, in the European Union."""

from collections.abc import Mapping
from datetime import date

from showplan.records.models import Level, Node, Project, TourDate
from showplan.services.demo import backbone as b
from showplan.services.demo import costumes as c
from showplan.services.demo import props as p
from showplan.services.demo import scenery as s
from showplan.services.demo.drawing import Point, VenueDrawing

NAME = "Heron Field"


def meadow(project: Project, nodes: Mapping[str, Node]) -> VenueDrawing:
    """Lawn of 130 by 90 m with a covered stage, and the walkable roof of a pavilion."""
    drawing = VenueDrawing(
        project,
        nodes,
        NAME,
        city="Ostervik",
        region="eu",
        environment="open-air",
        path_loss_exponent=2.3,
        fade_margin_db=8.0,
        coldest_c=8.0,
        warmest_c=28.0,
        is_wet=True,
        note="Exponent raised from the table's 2.0: worn nodes are low, and the audience stands between.",
    )
    lawn = drawing.level("Lawn", elevation_m=0.0, clear_height_m=25.0, width_m=130.0, depth_m=90.0)
    roof = drawing.level(
        "Pavilion roof",
        elevation_m=3.4,
        clear_height_m=6.0,
        origin_x_m=100.0,
        origin_y_m=60.0,
        width_m=16.0,
        depth_m=10.0,
        floor_material="wood-40",
    )
    _walls(drawing, lawn)
    _zones_and_sites(drawing, lawn, roof)
    _spectrum_and_dates(drawing)
    _place(drawing, lawn, roof)
    return drawing


def _box(
    drawing: VenueDrawing, level: Level, label: str, low_m: Point, high_m: Point, height_m: float, material: str
) -> None:
    (x0, y0), (x1, y1) = low_m, high_m
    corners = ((x0, y0), (x1, y0), (x1, y1), (x0, y1))
    for side, start, end in zip("SENW", corners, (*corners[1:], corners[0]), strict=True):
        drawing.wall(level, f"{label} {side}", start, end, height_m, material)


def _walls(drawing: VenueDrawing, lawn: Level) -> None:
    drawing.wall(lawn, "stage back", (53, 80), (77, 80), 6.0, "wood-40")
    drawing.wall(lawn, "stage side left", (53, 70), (53, 80), 6.0, "stage-drape")
    drawing.wall(lawn, "stage side right", (77, 70), (77, 80), 6.0, "stage-drape")
    drawing.wall(lawn, "sea flat", (60, 77), (70, 77), 3.0, "wood-20")
    _box(drawing, lawn, "store container", (82, 74), (94, 76.5), 2.6, "metal")
    _box(drawing, lawn, "kiosk", (20, 30), (28, 35), 3.2, "brick-102")
    _box(drawing, lawn, "pavilion", (100, 60), (116, 70), 3.4, "brick-200")
    drawing.wall(lawn, "garden wall", (0, 52), (34, 52), 2.4, "brick-200")


def _zones_and_sites(drawing: VenueDrawing, lawn: Level, roof: Level) -> None:
    drawing.zone(lawn, "park stage", (54, 70), (76, 70), (76, 79), (54, 79))
    drawing.zone(lawn, "near meadow", (40, 44), (92, 44), (86, 66), (46, 66))
    drawing.zone(lawn, "far meadow", (6, 6), (36, 4), (40, 22), (8, 24))
    drawing.zone(lawn, "walled garden", (4, 54), (32, 54), (32, 84), (4, 84))
    drawing.zone(lawn, "dressing tents", (82, 78), (96, 78), (96, 88), (82, 88))
    drawing.zone(roof, "roof edge", (101, 60.5), (115, 60.5), (115, 64), (101, 64))
    drawing.crowd(lawn, "audience", (44, 26), (88, 26), (84, 42), (48, 42), height_m=1.7, loss_db_per_m=0.4)
    drawing.site(lawn, "control tower", (65, 44), 4.5, mains=True)
    drawing.site(lawn, "stage left truss", (54, 79), 5.5, mains=True)
    drawing.site(lawn, "kiosk roof", (24, 32), 4.2, mains=True)
    drawing.site(lawn, "garden lamp post", (33, 60), 4.0, mains=False)
    drawing.site(lawn, "oak by the path", (44, 20), 3.5, mains=False)
    drawing.site(roof, "roof rail", (108, 61), 1.2, mains=False)


def _spectrum_and_dates(drawing: VenueDrawing) -> None:
    drawing.occupied("park Wi-Fi, channel 6", 2437.0, 20.0, -72.0, full_house_busy_share=0.4)
    drawing.occupied("ticket desk Wi-Fi, channel 11", 2462.0, 20.0, -66.0)
    drawing.occupied("food stall crew's camera link", 2422.0, 10.0, -63.0, "On during the interval only, they say.")
    drawing.day(date(2026, 9, 7), TourDate.Kind.LOAD_IN, "walk test at dusk")
    drawing.day(date(2026, 9, 8), TourDate.Kind.REHEARSAL)
    drawing.day(date(2026, 9, 9), TourDate.Kind.SHOW)
    drawing.day(date(2026, 9, 10), TourDate.Kind.SHOW, "rain date the day after")
    drawing.day(date(2026, 9, 12), TourDate.Kind.LOAD_OUT)


def _place(drawing: VenueDrawing, lawn: Level, roof: Level) -> None:
    drawing.place(b.GATEWAY, lawn, (65, 44), 4.5)
    drawing.place(b.RELAYS[0], lawn, (54, 79), 5.5)
    drawing.place(b.RELAYS[2], lawn, (44, 20), 3.5)
    drawing.place(b.RELAYS[3], lawn, (33, 60), 4.0)
    drawing.place(b.SCENERY_GATEWAY, lawn, (66, 44), 4.5)
    drawing.place_in("park stage", (*c.MOTHS[:6], c.KEEPER, c.TIDE, p.BOATS[0], p.BOATS[1]), 1.2)
    drawing.place_in("near meadow", (*c.MOTHS[6:12], c.PILOT, *p.LANTERNS[:3], p.BOATS[2]), 1.2)
    drawing.place_in("far meadow", (*c.MOTHS[12:16], c.SHADOW, p.LANTERNS[3]), 1.2)
    drawing.place_in("walled garden", (c.GULLS[2], c.GULLS[3], c.BELLRINGER, p.LANTERNS[4]), 1.2)
    drawing.place_in("dressing tents", (c.CAPTAIN,), 1.2)
    drawing.place_in("roof edge", c.GULLS[:2], 1.2)
    points = {
        s.TOWER: ((58, 76), 2.0),
        s.LENS: ((58, 76), 5.0),
        s.PIERS[0]: ((54.5, 71), 0.4),
        s.PIERS[1]: ((75.5, 71), 0.4),
        s.BUOYS[0]: ((50, 56), 0.6),
        s.BUOYS[1]: ((80, 56), 0.6),
        s.BUOYS[2]: ((22, 14), 0.6),
        s.WAVES[0]: ((65, 74), 0.5),
    }
    for label, (at_m, height_m) in points.items():
        drawing.place(label, lawn, at_m, height_m)
