"""What follows from kept results against what follows from nothing."""

import sys
from collections import OrderedDict
from collections.abc import Iterator
from contextlib import contextmanager

import pytest

from showplan.services import planning

MUST_BE_KEPT = {
    "showplan.planner.pairs._pairs_of",
    "showplan.planner.power.kept._worked_out",
    "showplan.planner.scene_file._canonical_part",
    "showplan.services.scenes._node",
    "showplan.services.scenes._placement",
    "showplan.services.scenes._wall",
}


@contextmanager
def nothing_kept() -> Iterator[None]:
    """As in a process that has just started: every result that is kept for some time is worked out anew.

    What was kept is there again afterwards. Tables that are read once and never change stay.
    """
    found = set()
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr(planning, "_kept", OrderedDict())
        for module_name, module in list(sys.modules.items()):
            if module_name.startswith("showplan."):
                for name, value in list(vars(module).items()):
                    if hasattr(value, "cache_parameters") and value.cache_parameters()["maxsize"] is not None:
                        patch.setattr(module, name, value.__wrapped__)
                        found.add(f"{module_name}.{name}")
        assert found >= MUST_BE_KEPT, "a kept result has another name now: this list must say it"
        yield
