"""What a check of the installation says."""

from dataclasses import dataclass
from typing import Literal

State = Literal["ok", "warn", "fail"]


@dataclass(frozen=True)
class Diagnosis:
    """The state of one thing: `found` says what is there, `hint` what to do about it; empty where it is fine."""

    check: str
    state: State
    found: str
    hint: str = ""


Verdict = tuple[State, str, str]


def ok(found: str) -> Verdict:
    """It holds."""
    return "ok", found, ""


def warn(found: str, hint: str) -> Verdict:
    """It works, but not as it should for a server."""
    return "warn", found, hint


def fail(found: str, hint: str) -> Verdict:
    """It does not work, or is not safe."""
    return "fail", found, hint
