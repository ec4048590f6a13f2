"""The machine code of the packet simulation: what it is made of."""

from pathlib import Path
from typing import Final

from showplan.machine_code import MachineCode

MODULES: Final = ("world", "events", "on_air", "packets", "sending", "engine")
CODE: Final = MachineCode(Path(__file__), *(Path(__file__).with_name(f"{name}.py") for name in MODULES))
compiled = CODE.compiled
