"""Fuses and trunk cables of the demo's nodes, chosen from what hangs on them."""

from typing import Any

from showplan.services.demo.devices import MIDDLE_MM2, STOUT_MM2, STOUTEST_MM2, Device, LoadPlan

# Plausible figures of small blade fuses: rated current and cold resistance.
_FUSES_MOHM = {1.0: 120.0, 2.0: 52.0, 3.0: 31.0, 4.0: 23.0, 5.0: 17.0, 7.5: 11.0, 10.0: 7.5, 15.0: 4.8, 20.0: 3.4}
_FUSE_V, _FUSE_BREAKS_A = 32.0, 1000.0
# A fuse carries three quarters of its rating for hours; a full pack drives a little more than is printed on the loads.
_USED_SHARE = 0.7
# Fuses that the trunk cables protect with a margin for warm air.
_TRUNKS = ((3.0, MIDDLE_MM2), (7.5, STOUT_MM2), (20.0, STOUTEST_MM2))
_WORN_TRUNK_M, _OTHER_TRUNK_M = 0.3, 0.8


def fuse_of(plan: LoadPlan) -> dict[str, Any]:
    """The fuse of a load's output."""
    return {} if plan.lacks_fuse else _fuse(plan.current_a, "fuse")


def trunk_of(device: Device) -> dict[str, Any]:
    """The cable from the supply to a node with loads, and the main fuse."""
    if not device.loads:
        return {}
    main = _fuse(sum(plan.current_a for plan in device.loads), "main_fuse")
    area_mm2 = next(area_mm2 for most_a, area_mm2 in _TRUNKS if main["main_fuse_a"] <= most_a)
    return {
        "trunk_length_m": _WORN_TRUNK_M if device.is_worn else _OTHER_TRUNK_M,
        "trunk_area_mm2": area_mm2,
        **main,
    }


def _fuse(current_a: float, prefix: str) -> dict[str, Any]:
    rating_a = next(rating_a for rating_a in _FUSES_MOHM if rating_a * _USED_SHARE >= current_a)
    return {
        f"{prefix}_a": rating_a,
        f"{prefix}_v": _FUSE_V,
        f"{prefix}_breaks_a": _FUSE_BREAKS_A,
        f"{prefix}_mohm": _FUSES_MOHM[rating_a],
    }
