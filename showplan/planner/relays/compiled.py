"""The machine code of the relay search: what it is made of."""

from pathlib import Path
from typing import Final

from showplan.machine_code import MachineCode

MODULES: Final = ("annealing", "narrowest")
CODE: Final = MachineCode(Path(__file__), *(Path(__file__).with_name(f"{name}.py") for name in MODULES))
compiled = CODE.compiled_with_arrays
inlined = CODE.compiled
