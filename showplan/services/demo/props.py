"""Hand-held lanterns and boats of the demo: battery props on the main network."""

from showplan.services.demo.devices import STOUT_MM2, TAPE_120_W_PER_M, Device, LoadPlan, battery, lamp, tape
from showplan.services.demo.node_types import MAIN_NETWORK, PROP
from showplan.services.demo.people import COSTUME_CREW, SCENIC_CREW

LANTERNS = tuple(f"Lantern {number}" for number in range(1, 7))
BOATS = tuple(f"Boat {number}" for number in range(1, 5))

_FIRST_LANTERN_ADDRESS = 0x0200
_FIRST_BOAT_ADDRESS = 0x0210


def props() -> list[Device]:
    """Six lanterns that performers carry, four boats that they push."""
    lanterns = [
        Device(
            label,
            "receiver",
            PROP,
            MAIN_NETWORK,
            COSTUME_CREW,
            _FIRST_LANTERN_ADDRESS + number,
            battery("nimh", 10, 2.0, milliohms=250, limit_a=4.0),
            loads=(lamp("flame", 3.0, 0.3), tape("glow", 0.3, 0.3)),
            note="Carried in the hand, not worn: no body loss is counted.",
        )
        for number, label in enumerate(LANTERNS)
    ]
    boats = [
        Device(
            label,
            "receiver",
            PROP,
            MAIN_NETWORK,
            SCENIC_CREW,
            _FIRST_BOAT_ADDRESS + number,
            battery("lifepo4", 4, 7.5, milliohms=35, limit_a=15.0),
            loads=(
                _rail("port rail"),
                _rail("starboard rail"),
                tape("sail", 3.0, 2.2, cable_area_mm2=STOUT_MM2),
                # The main fuse alone does not protect this thin lead.
                lamp("mast lamp", 5.0, 3.0, lacks_fuse=label == BOATS[-1]),
            ),
        )
        for number, label in enumerate(BOATS)
    ]
    return [*lanterns, *boats]


def _rail(part: str) -> LoadPlan:
    return tape(part, 2.5, 1.5, w_per_m=TAPE_120_W_PER_M, cable_area_mm2=STOUT_MM2, feeding="both-ends")
