"""Worn receivers of the demo: sixteen moths, four gulls and six principals."""

from random import Random

from showplan.services.demo.devices import MIDDLE_MM2, Device, LoadPlan, SupplyPlan, battery, fan, lamp, tape
from showplan.services.demo.node_types import MAIN_NETWORK, WORN
from showplan.services.demo.people import COSTUME_CREW

MOTHS = tuple(f"Moth {number:02d}" for number in range(1, 17))
GULLS = tuple(f"Gull {number}" for number in range(1, 5))
KEEPER, SHADOW, PILOT, TIDE, CAPTAIN, BELLRINGER = PRINCIPALS = (
    "Keeper",
    "Keeper's shadow",
    "Pilot",
    "Tide",
    "Captain",
    "Bellringer",
)

_FIRST_ADDRESS = 0x0100
# Tape of 60 LEDs a metre can be cut after every third LED.
_CUT_M = 0.05


def costumes(chance: Random) -> list[Device]:
    """All worn receivers; `chance` varies the sizes of the performers."""
    worn = [
        *((label, _moth(number, chance), _SMALL_PACK) for number, label in enumerate(MOTHS, 1)),
        *((label, _gull(chance), _OLD_GULL_PACK if label == GULLS[-1] else _GULL_PACK) for label in GULLS),
        *((label, loads, _LARGE_PACK) for label, loads in _PRINCIPAL_LOADS.items()),
    ]
    return [
        Device(label, "receiver", WORN, MAIN_NETWORK, COSTUME_CREW, _FIRST_ADDRESS + number, pack, True, loads)
        for number, (label, loads, pack) in enumerate(worn)
    ]


_SMALL_PACK: SupplyPlan = battery("lifepo4", 4, 1.5, milliohms=90, limit_a=4.5)
_LARGE_PACK: SupplyPlan = battery("lifepo4", 4, 3.0, milliohms=60, limit_a=9.0)
_GULL_PACK: SupplyPlan = battery("li-ion", 3, 2.6, milliohms=120, limit_a=5.0)
# The last gull is still without a converter: 12 V tape gets dark long before such a pack is empty.
_OLD_GULL_PACK: SupplyPlan = battery("li-ion", 3, 2.6, milliohms=120, limit_a=5.0, converter_v=None)


def _moth(number: int, chance: Random) -> tuple[LoadPlan, ...]:
    span_m = _cut(chance, 0.8, 1.1)
    loads = (
        tape("left wing", span_m, 0.6),
        tape("right wing", span_m, 0.6),
        lamp("antennae", 0.5, 0.9),
    )
    # Every other moth also carries the hem that makes the chain of lights in the second part.
    return (*loads, tape("hem", _cut(chance, 1.2, 1.6), 1.1)) if number % 2 else loads


def _gull(chance: Random) -> tuple[LoadPlan, ...]:
    span_m = _cut(chance, 1.1, 1.3)
    return (tape("left wing", span_m, 0.7), tape("right wing", span_m, 0.7), lamp("beak", 0.5, 1.0))


def _cut(chance: Random, shortest_m: float, longest_m: float) -> float:
    return round(chance.randint(round(shortest_m / _CUT_M), round(longest_m / _CUT_M)) * _CUT_M, 2)


_PRINCIPAL_LOADS: dict[str, tuple[LoadPlan, ...]] = {
    KEEPER: (
        tape("coat hem", 2.0, 1.2, cable_area_mm2=MIDDLE_MM2),
        tape("collar", 0.5, 0.5),
        tape("cuffs", 0.4, 0.9),
        lamp("chest lamp", 3.0, 0.4),
        fan("hood fan", 0.15, 0.7),
    ),
    SHADOW: (
        tape("cloak edge", 2.4, 1.3, cable_area_mm2=MIDDLE_MM2),
        tape("mask", 0.3, 0.8),
        fan("mask fan", 0.12, 0.8),
    ),
    PILOT: (tape("jacket piping", 1.6, 0.8), lamp("cap lamp", 1.0, 0.9), tape("compass", 0.35, 0.6)),
    TIDE: (
        tape("train left", 2.5, 1.4, cable_area_mm2=MIDDLE_MM2),
        tape("train right", 2.5, 1.4, cable_area_mm2=MIDDLE_MM2),
        tape("bodice", 0.9, 0.4),
        tape("crown", 0.55, 0.9),
        fan("train fan", 0.25, 1.2),
    ),
    CAPTAIN: (
        tape("epaulettes", 0.5, 0.5),
        tape("sash", 1.3, 0.4),
        lamp("spyglass", 1.0, 1.1),
        tape("boots", 0.8, 1.5),
    ),
    BELLRINGER: (
        tape("rope", 1.8, 0.9, cable_area_mm2=MIDDLE_MM2),
        lamp("left bell", 1.5, 0.8),
        lamp("right bell", 1.5, 0.8),
    ),
}
