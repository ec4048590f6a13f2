"""The machine code of this package: what it is made of, and how to have it loaded before it is needed."""

from importlib import import_module
from pathlib import Path
from typing import Final

from showplan.machine_code import MachineCode

MODULES: Final = ("shadow_lines", "shadow_rows", "rays_through")
CODE: Final = MachineCode(Path(__file__), *(Path(__file__).with_name(f"{name}.py") for name in MODULES))
compiled, compiled_for = CODE.compiled, CODE.compiled_for


def load() -> None:
    """Load the machine code; where none is kept, it is compiled now."""
    for name in MODULES:
        import_module(f"{__package__}.{name}")
