"""How the planner says what is wrong with its input: every fault at once, each with its place."""

from dataclasses import dataclass


@dataclass(frozen=True)
class Fault:
    """One thing wrong: `pointer` is the JSON pointer (RFC 6901) of the place, `message` says what would be right."""

    pointer: str
    message: str

    def __str__(self) -> str:
        return f"{self.pointer or '/'}: {self.message}"


class SceneError(ValueError):
    """A Scene that cannot be planned. `faults` holds each reason, in the order of the file."""

    def __init__(self, faults: list[Fault]) -> None:
        self.faults = tuple(faults)
        super().__init__("\n".join(str(fault) for fault in faults))
