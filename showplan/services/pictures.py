"""The coverage of a level as a picture, and the classes of margin that pictures, links and legends share."""

import io
from collections import OrderedDict
from threading import Lock
from typing import Literal, get_args

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageColor

from showplan.planner.classes import (
    DELIVERY_CLASSES,
    MARGIN_CLASSES,
    THRESHOLDS_DB,
    DeliveryClass,
    MarginClass,
    margin_class,
)
from showplan.planner.coverage import DEFAULT_HEIGHT_M, DEFAULT_STEP_M, Coverage
from showplan.services.computing import CoverageQuery, coverage_in
from showplan.services.planning import PlannedVenue

__all__ = [
    "DELIVERY_CLASSES",
    "MARGIN_CLASSES",
    "Coverage",
    "MarginClass",
    "class_shares",
    "coverage_png",
    "level_coverage",
    "margin_class",
]

# What a picture may show: margin of the best sender, what is left when that one dies, or delivery.
Layer = Literal["margin", "second", "delivery"]
LAYERS: tuple[Layer, ...] = get_args(Layer)
CELLS_AIMED_AT = 25_000
LONGEST_SIDE_PX = 1000
HATCH_EVERY_PX, HATCH_WIDTH_PX = 12, 2
# Light lines on the darkest class; only "not served" is hatched.
HATCH_COLOUR = "#9fb0cf"
MOST_KEPT = 32
_kept: OrderedDict[tuple[str, str, str, str | None, str], Coverage] = OrderedDict()
_lock = Lock()


def level_coverage(
    planned: PlannedVenue, level: str, network: str, sender: str | None = None, house: str = ""
) -> Coverage:
    """Coverage of a level by all senders of a network or one of them, on a grid that suits a picture.

    Raises NotFound for an unknown level or network, InvalidInput where there is nothing to compute.
    """
    key = (planned.plan.fingerprint, level, network, sender, house)
    with _lock:
        if key in _kept:
            _kept.move_to_end(key)
            return _kept[key]
    facts = planned.scene.level(level)
    step_m = max(DEFAULT_STEP_M, (facts.width_m * facts.depth_m / CELLS_AIMED_AT) ** 0.5)
    height_m = min(DEFAULT_HEIGHT_M, facts.clear_height_m)
    made = coverage_in(planned, CoverageQuery(level, network, sender or "", step_m, height_m, house))
    with _lock:
        _kept[key] = made
        while len(_kept) > MOST_KEPT:
            _kept.popitem(last=False)
    return made


def classes_of(layer: Layer) -> tuple[MarginClass | DeliveryClass, ...]:
    """The classes, lowest first, in which a layer is drawn."""
    return DELIVERY_CLASSES if layer == "delivery" else MARGIN_CLASSES


def class_shares(found: Coverage, layer: Layer = "margin") -> dict[str, float]:
    """Share of the cells, 0 to 1, in each class of a layer, by the class's key."""
    classes = classes_of(layer)
    counts = np.bincount(_classes(found, layer).ravel(), minlength=len(classes))
    return {one.key: float(count / counts.sum()) for one, count in zip(classes, counts, strict=True)}


def coverage_png(found: Coverage, width_m: float, depth_m: float, layer: Layer = "margin") -> bytes:
    """A layer of the coverage as a PNG of `width_m` by `depth_m` metres, up the plan at the top.

    The lowest class is hatched. A cell that the edge of the level cuts off is cut off in the picture as well.
    """
    classes = _classes(found, layer)
    cell_px = max(1, LONGEST_SIDE_PX // max(classes.shape))
    size = [max(1, round(length_m / found.step_m * cell_px)) for length_m in (depth_m, width_m)]
    pixels = np.kron(classes, np.ones((cell_px, cell_px), dtype=np.uint8))[: size[0], : size[1]][::-1]
    rows, columns = np.indices(pixels.shape)
    hatched = (pixels == 0) & ((rows + columns) % HATCH_EVERY_PX < HATCH_WIDTH_PX)
    pixels = np.where(hatched, len(MARGIN_CLASSES), pixels).astype(np.uint8)
    picture = Image.fromarray(np.ascontiguousarray(pixels))
    picture.putpalette([part for colour in _palette() for part in ImageColor.getrgb(colour)])
    stream = io.BytesIO()
    picture.save(stream, format="PNG", optimize=True)
    return stream.getvalue()


def _palette() -> tuple[str, ...]:
    return (*(one.colour for one in MARGIN_CLASSES), HATCH_COLOUR)


def _classes(found: Coverage, layer: Layer) -> NDArray[np.uint8]:
    """Index into the layer's classes for each cell (rows, columns)."""
    if layer == "delivery":
        thresholds = [one.low for one in DELIVERY_CLASSES[1:]]
        return np.digitize(found.best_delivery(), thresholds).astype(np.uint8)
    margin_db = found.second_margin_db() if layer == "second" else found.best_margin_db()
    return np.digitize(margin_db, THRESHOLDS_DB).astype(np.uint8)
