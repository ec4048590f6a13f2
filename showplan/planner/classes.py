"""Margin classes: how good a margin is, in words. One definition for picture, legend, links and lists."""

from dataclasses import dataclass


@dataclass(frozen=True)
class MarginClass:
    """Margins from `low_db` up to the next class, in dB above the fade margin; `low_db` None: no lower end.

    `colour` is #rrggbb; `dash` the stroke pattern of a link (SVG stroke-dasharray), empty for a solid line, so
    that a class can be told without its colour.
    """

    key: str
    words: str
    low_db: float | None
    colour: str
    dash: str


# Colours: cividis sampled at 0, 1/4, 1/2, 3/4 and 1 (Nunez, Anderton, Renslow, PLoS ONE 13(7) e0199239, 2018; CC0).
# Thresholds: common practice, no source; 3 dB is the same step at which a finding calls a route thin.
MARGIN_CLASSES = (
    MarginClass("none", "not served", None, "#00224e", "2 6"),
    MarginClass("thin", "thin", 0.0, "#434e6c", "5 6"),
    MarginClass("sound", "sound", 3.0, "#7d7c78", "11 5"),
    MarginClass("strong", "strong", 10.0, "#bcae6c", "22 4"),
    MarginClass("very-strong", "very strong", 20.0, "#fee838", ""),
)


@dataclass(frozen=True)
class DeliveryClass:
    """Deliveries from `low` up to the next class, 0 to 1; colours and dashes are those of the margin classes."""

    key: str
    words: str
    low: float
    colour: str
    dash: str


# Thresholds: common practice, no source. The lowest class is hatched, as 'not served' is.
DELIVERY_CLASSES = tuple(
    DeliveryClass(key, words, low, of_margin.colour, of_margin.dash)
    for (key, words, low), of_margin in zip(
        (
            ("lost", "mostly lost", 0.0),
            ("poor", "poor", 0.5),
            ("fair", "fair", 0.9),
            ("good", "good", 0.99),
            ("very-good", "very good", 0.999),
        ),
        MARGIN_CLASSES,
        strict=True,
    )
)
THRESHOLDS_DB = tuple(one.low_db for one in MARGIN_CLASSES if one.low_db is not None)


def margin_class(margin_db: float) -> MarginClass:
    """The class of a margin in dB above the fade margin."""
    return MARGIN_CLASSES[sum(margin_db >= threshold_db for threshold_db in THRESHOLDS_DB)]
