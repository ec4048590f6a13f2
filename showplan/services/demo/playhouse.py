"""The first venue: a black-box theatre with a balcony, in the United States."""

from collections.abc import Mapping
from datetime import date

from showplan.records.models import Level, Node, Project, TourDate
from showplan.services.demo import backbone as b
from showplan.services.demo import costumes as c
from showplan.services.demo import props as p
from showplan.services.demo import scenery as s
from showplan.services.demo.drawing import VenueDrawing

NAME = "Tanpit Playhouse"


def playhouse(project: Project, nodes: Mapping[str, Node]) -> VenueDrawing:
    """Stalls floor with stage and dressing rooms, 30 by 34 m; balcony over its rear part only."""
    drawing = VenueDrawing(
        project,
        nodes,
        NAME,
        city="Harrow Falls",
        region="us",
        environment="theatre-hall",
        path_loss_exponent=2.55,
        fade_margin_db=9.0,
        coldest_c=18.0,
        warmest_c=32.0,
        note="Stage door is off the dressing corridor. The steel steps stay in from the house's own set.",
    )
    floor = drawing.level("Stalls", elevation_m=0.0, clear_height_m=9.0, width_m=30.0, depth_m=34.0)
    balcony = drawing.level(
        "Balcony", elevation_m=4.0, clear_height_m=4.5, width_m=24.0, depth_m=10.0, floor_material="concrete-200"
    )
    _walls(drawing, floor, balcony)
    _zones_and_sites(drawing, floor, balcony)
    _spectrum_and_dates(drawing)
    _place_backbone(drawing, floor, balcony)
    _place_receivers(drawing, floor)
    return drawing


def _walls(drawing: VenueDrawing, floor: Level, balcony: Level) -> None:
    wall = drawing.wall
    wall(floor, "foyer wall left", (0, 4), (10, 4), 3.8, "brick-102")
    wall(floor, "foyer wall right", (14, 4), (24, 4), 3.8, "brick-102")
    wall(floor, "proscenium left", (0, 20), (5, 20), 9.0, "brick-200")
    wall(floor, "proscenium right", (19, 20), (24, 20), 9.0, "brick-200")
    wall(floor, "proscenium header", (5, 20), (19, 20), 2.5, "brick-200", base_m=6.5)
    wall(floor, "dressing wall front", (24, 4), (24, 27), 9.0, "brick-200")
    wall(floor, "dressing wall rear", (24, 29), (24, 34), 9.0, "brick-200")
    wall(floor, "wardrobe partition", (24, 17), (28, 17), 2.7, "plasterboard-26")
    wall(floor, "green room partition", (25.5, 23), (30, 23), 2.7, "plasterboard-26")
    wall(floor, "leg left", (4.2, 24), (6, 24), 6.0, "stage-drape")
    wall(floor, "leg right", (18, 24), (19.8, 24), 6.0, "stage-drape")
    wall(floor, "black upstage", (4, 31), (20, 31), 6.0, "stage-drape")
    wall(floor, "flat left", (5.5, 28), (8.5, 28.6), 3.6, "wood-20")
    wall(floor, "flat right", (15.5, 28.6), (18.5, 28), 3.6, "wood-20")
    wall(floor, "steel steps", (10.5, 29.4), (13.5, 29.4), 2.8, "metal")
    wall(balcony, "balcony rail", (0, 10), (24, 10), 1.0, "wood-40")
    wall(balcony, "booth front", (8, 3), (16, 3), 2.4, "glass-6")
    wall(balcony, "booth left", (8, 0), (8, 3), 2.4, "plasterboard-26")
    wall(balcony, "booth right", (16, 0), (16, 3), 2.4, "plasterboard-26")


def _zones_and_sites(drawing: VenueDrawing, floor: Level, balcony: Level) -> None:
    drawing.zone(floor, "stage", (5.5, 20.5), (18.5, 20.5), (17.5, 29), (6.5, 29))
    drawing.zone(floor, "left wing", (0.5, 21), (4, 21), (4, 31), (0.5, 31))
    drawing.zone(floor, "right wing", (20, 21), (23.5, 21), (23.5, 31), (20, 31))
    drawing.zone(floor, "crossover", (2, 31.5), (22, 31.5), (22, 33.5), (2, 33.5))
    drawing.zone(floor, "centre aisle", (11, 4.5), (13, 4.5), (13, 19.5), (11, 19.5))
    drawing.zone(floor, "foyer", (2, 0.5), (22, 0.5), (22, 3.5), (2, 3.5))
    drawing.crowd(floor, "stalls seats", (1, 5), (23, 5), (23, 18), (1, 18), height_m=1.3, loss_db_per_m=0.5)
    drawing.zone(floor, "dressing corridor", (24.5, 13), (29.5, 13), (29.5, 33), (24.5, 33))
    drawing.zone(balcony, "balcony front", (1, 7), (23, 7), (23, 9.5), (1, 9.5))
    drawing.site(balcony, "balcony rail centre", (12, 9.4), 1.6, mains=True)
    drawing.site(balcony, "booth", (12, 2), 2.0, mains=True)
    drawing.site(floor, "left fly floor", (1.5, 27), 6.5, mains=True)
    drawing.site(floor, "right fly floor", (22.5, 27), 6.5, mains=True)
    drawing.site(floor, "stage door lobby", (26, 28), 2.4, mains=True)
    drawing.site(floor, "foyer ledge", (12, 3.4), 3.0, mains=False)
    drawing.site(floor, "crossover pipe", (12, 33), 4.0, mains=False)


def _spectrum_and_dates(drawing: VenueDrawing) -> None:
    drawing.occupied("house Wi-Fi, low channel", 2412.0, 22.0, -52.0)
    drawing.occupied("house Wi-Fi, middle channel", 2437.0, 22.0, -48.0)
    drawing.occupied("house Wi-Fi, high channel", 2462.0, 22.0, -55.0, full_house_busy_share=0.3)
    drawing.occupied("house cue light link", 921.4, 0.5, -70.0, "Asked the house to move it; answer due at load-in.")
    drawing.day(date(2026, 8, 24), TourDate.Kind.LOAD_IN, "walk test after focus")
    drawing.day(date(2026, 8, 25), TourDate.Kind.REHEARSAL)
    for day in (26, 27, 28, 29):
        drawing.day(date(2026, 8, day), TourDate.Kind.SHOW, "two shows" if day == 29 else "")
    drawing.day(date(2026, 8, 30), TourDate.Kind.LOAD_OUT)


def _place_backbone(drawing: VenueDrawing, floor: Level, balcony: Level) -> None:
    drawing.place(b.GATEWAY, balcony, (12, 9.4), 1.6)
    drawing.place(b.RELAYS[0], floor, (1.5, 27), 6.5)
    drawing.place(b.RELAYS[1], floor, (26, 28), 2.4)
    drawing.place(b.RELAYS[2], floor, (12, 33), 4.0)
    drawing.place(b.SCENERY_GATEWAY, floor, (22.5, 27), 6.5)


def _place_receivers(drawing: VenueDrawing, floor: Level) -> None:
    drawing.place_in("stage", (*c.MOTHS[:10], c.KEEPER, *p.LANTERNS[:3], p.BOATS[0], p.BOATS[1]), 1.2)
    drawing.place_in("left wing", (c.MOTHS[10], c.MOTHS[11], c.TIDE, p.BOATS[2]), 1.2)
    drawing.place_in("right wing", (c.GULLS[2], c.GULLS[3], p.BOATS[3]), 1.2)
    drawing.place_in("crossover", (c.MOTHS[12], c.MOTHS[13]), 1.2)
    drawing.place_in("centre aisle", (c.PILOT, c.MOTHS[14], c.MOTHS[15], p.LANTERNS[3]), 1.2)
    drawing.place_in("foyer", (c.BELLRINGER, p.LANTERNS[4]), 1.2)
    drawing.place_in("dressing corridor", (c.SHADOW, c.CAPTAIN), 1.2)
    drawing.place_in("balcony front", c.GULLS[:2], 1.2)
    points = {
        s.TOWER: ((8, 27), 2.0),
        s.LENS: ((8, 27.2), 4.6),
        s.MOON: ((15, 30.4), 5.5),
        s.PIERS[0]: ((5.5, 21.2), 0.4),
        s.PIERS[1]: ((18.5, 21.2), 0.4),
        s.BUOYS[0]: ((9, 22.5), 0.6),
        s.BUOYS[1]: ((14.5, 23.5), 0.6),
        s.WAVES[0]: ((12, 25), 0.5),
        s.WAVES[1]: ((12, 28.8), 0.5),
    }
    for label, (at_m, height_m) in points.items():
        drawing.place(label, floor, at_m, height_m)
