"""Scenery of the demo: receivers on the 915 MHz network."""

from showplan.services.demo.devices import (
    FINE_MM2,
    MIDDLE_MM2,
    STOUT_MM2,
    Device,
    LoadPlan,
    SupplyPlan,
    battery,
    fan,
    lamp,
    mains,
    tape,
)
from showplan.services.demo.node_types import SCENERY_NETWORK, SCENIC
from showplan.services.demo.people import SCENIC_CREW

TOWER, LENS, MOON = "Lighthouse tower", "Lighthouse lens", "Moon"
PIERS = ("Pier left", "Pier right")
BUOYS = ("Buoy 1", "Buoy 2", "Buoy 3")
WAVES = ("Wave 1", "Wave 2")
SCENERY = (TOWER, LENS, MOON, *PIERS, *BUOYS, *WAVES)

_FIRST_ADDRESS = 0x0100


def scenery() -> list[Device]:
    """The lighthouse, moon, piers, buoys and waves."""
    return [
        Device(
            label,
            "receiver",
            SCENIC,
            SCENERY_NETWORK,
            SCENIC_CREW,
            _FIRST_ADDRESS + number,
            _supply(label),
            loads=_loads(label),
        )
        for number, label in enumerate(SCENERY)
    ]


def _supply(label: str) -> SupplyPlan:
    if label in BUOYS:
        return battery("nimh", 10, 4.0, milliohms=180, limit_a=6.0)
    if label in WAVES:
        return battery("lifepo4", 4, 6.0, milliohms=40, limit_a=12.0)
    return mains(_MAINS_W[label])


# The lens has a supply with little to spare.
_MAINS_W = {TOWER: 150.0, LENS: 40.0, MOON: 100.0, PIERS[0]: 60.0, PIERS[1]: 60.0}


def _loads(label: str) -> tuple[LoadPlan, ...]:
    if label in PIERS:
        return tuple(lamp(f"bollard {number}", 3.0, 2.0 + 1.5 * number) for number in range(1, 6))
    if label in BUOYS:
        return (lamp("top lamp", 3.0, 1.2), tape("waterline", 1.2, 0.8))
    if label in WAVES:
        return (
            tape("crest", 4.0, 1.5, cable_area_mm2=MIDDLE_MM2, feeding="points", feed_points_m=(1.0, 3.0)),
            tape("trough", 4.0, 1.5, cable_area_mm2=MIDDLE_MM2, feeding="both-ends"),
            fan("swell fan", 0.6, 2.5),
        )
    return _LARGE_PIECES[label]


def _ring(ring: int) -> LoadPlan:
    """A ring of the tower; all their leads run up in one bundle, and that of the highest is too thin."""
    area_mm2 = FINE_MM2 if ring == 4 else STOUT_MM2
    lead_m = 1.5 + 0.7 * ring
    return tape(f"ring {ring}", 5.0, lead_m, cable_area_mm2=area_mm2, feeding="both-ends", cables_together=4)


_LARGE_PIECES: dict[str, tuple[LoadPlan, ...]] = {
    TOWER: (
        *(_ring(ring) for ring in range(1, 5)),
        lamp("low window", 3.0, 2.0),
        lamp("high window", 3.0, 4.0),
        lamp("door lamp", 5.0, 1.0),
        fan("haze fan", 0.45, 1.5),
    ),
    LENS: (
        *(lamp(f"lens {side}", 8.0, 1.0, cable_area_mm2=MIDDLE_MM2) for side in ("north", "east", "south", "west")),
        fan("lens cooling", 0.2, 0.8),
    ),
    MOON: (*(tape(f"phase {phase}", 3.0, 1.0 + 0.5 * phase, cable_area_mm2=STOUT_MM2) for phase in range(1, 6)),),
}
