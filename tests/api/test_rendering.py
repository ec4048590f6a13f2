"""The quick way of writing JSON against the usual one."""

import json
import math
from typing import Any

import pytest
from rest_framework.renderers import JSONRenderer

from api.rendering import PlainJSONRenderer

VALUES: list[Any] = [
    None,
    {},
    {"a": [1, -2, 0.1, 1e-7, 1e22, -0.0, 5e-324, True, None], "b": {"c": 'ä " \\ \n \t \x7f'}},
    {"tuple": (1, 2), "script": "</script> \u2028 \u2029", "names": ["NaN", "Infinity"]},
    [{"x": i / 7, "y": -i * 1e10, "z": 10.0**-i} for i in range(40)],
]


@pytest.mark.parametrize("value", VALUES)
def test_says_what_the_usual_renderer_says(value: Any) -> None:
    quick, usual = PlainJSONRenderer().render(value), JSONRenderer().render(value)
    assert (json.loads(quick) if quick else None) == (json.loads(usual) if usual else None)


@pytest.mark.parametrize("number", [math.nan, math.inf, -math.inf])
def test_refuses_numbers_that_json_does_not_have(number: float) -> None:
    with pytest.raises(ValueError, match="not JSON compliant"):
        PlainJSONRenderer().render({"a": [number]})


def test_leaves_no_line_separator_bare() -> None:
    assert b"\\u2028" in PlainJSONRenderer().render(["\u2028"])


def test_indents_when_asked() -> None:
    written = PlainJSONRenderer().render({"a": 1}, "application/json; indent=2")
    assert written == b'{\n  "a": 1\n}'
