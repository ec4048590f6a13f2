"""Computed values as JSON has them."""

import math
from typing import Any


def finite(values: dict[str, Any]) -> dict[str, Any]:
    """The values, parts of parts included, with null for what has no number in JSON: a limit that sets none."""
    return {name: _finite_part(part) for name, part in values.items()}


def _finite_part(value: Any) -> Any:
    if isinstance(value, dict):
        return finite(value)
    if isinstance(value, list | tuple):
        return [_finite_part(part) for part in value]
    return None if isinstance(value, float) and not math.isfinite(value) else value
