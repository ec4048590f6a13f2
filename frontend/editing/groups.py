"""Which fields of a long form stand together under a heading that folds; all others stand above."""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Final

from django.forms import BaseForm, BoundField

Groups = Mapping[str, Sequence[str]]

# Heading and fields, by the path of the noun.
GROUPS: Final[Mapping[str, Groups]] = {
    "venues": {
        "Radio": ("path_loss_model", "path_loss_exponent", "surroundings", "fade_margin_db"),
        "Power": ("coldest_c", "warmest_c", "is_wet", "reached_by_air", "drop_warn_percent", "drop_stop_percent"),
    },
    "node-types": {
        "Antenna and reception": (
            *("antenna_gain_dbi", "cable_loss_db", "noise_figure_db", "antenna_pattern", "pattern_exponent"),
            *("front_to_back_db", "polarisation"),
        ),
        "Switches, dimming and inrush": (
            *("switch_on_mohm", "switch_rated_drive_v", "switch_threshold_v", "drive_v", "switch_k_per_w"),
            *("switch_limit_c", "switch_edge_us", "dimming_hz", "input_uf"),
        ),
    },
    "supplies": {
        "Battery and converter": (
            *("cells", "rated_hours", "state_of_health", "internal_resistance_ohm"),
            *("converter_v", "converter_efficiency"),
        ),
        "Packs and chargers": ("packs", "chargers", "charger_current_a"),
        "Mains supply": ("isolation", "is_limited_power"),
    },
    "nodes": {
        "When the signal is lost": ("on_signal_loss", "signal_lost_after_s"),
        "Cable from the supply and main fuse": (
            *("trunk_length_m", "trunk_area_mm2", "main_fuse_a", "main_fuse_class", "main_fuse_v"),
            *("main_fuse_breaks_a", "main_fuse_mohm"),
        ),
    },
    "loads": {
        "Cable and fuse": (
            *("cable_length_m", "cable_area_mm2", "cables_together", "fuse_a", "fuse_class", "fuse_v"),
            *("fuse_breaks_a", "fuse_mohm"),
        ),
        "How the tape is fed": ("tape_ohm_per_m", "feeding", "feed_points_m"),
        "How it takes current": ("behaviour", "dropout_v", "inrush_uf", "cold_inrush_times", "is_against_skin"),
    },
}


@dataclass(frozen=True)
class FieldGroup:
    """Fields under a heading; open where one must be filled in, is at fault, or differs from its default."""

    heading: str
    fields: tuple[BoundField, ...]
    is_open: bool


def ungrouped(form: BaseForm, path: str) -> Iterator[BoundField]:
    """The fields that stand above every heading."""
    grouped = {name for names in GROUPS.get(path, {}).values() for name in names}
    return (field for field in form.visible_fields() if field.name not in grouped)


def grouped(form: BaseForm, path: str, usual: Mapping[str, object]) -> Iterator[FieldGroup]:
    """The headings with their fields; `usual` holds the defaults."""
    for heading, names in GROUPS.get(path, {}).items():
        fields = tuple(form[name] for name in names if name in form.fields)
        yield FieldGroup(heading, fields, any(_shows(field, usual.get(field.name)) for field in fields))


def _shows(field: BoundField, usual: object) -> bool:
    value = field.value()
    is_missing = field.field.required and value in (None, "")
    return is_missing or bool(field.errors) or field.field.has_changed(usual, value)
