"""Kinds of jobs for the tests: one that takes its time, and some that go wrong. No Django here, as in all kinds."""

import hashlib
import os
import signal
import time
from typing import Any

from pydantic import Field

from showplan.planner.scene import Scene
from showplan.planner.scene_file import fingerprint
from showplan.planner.watch import CannotCompute, Watch
from showplan.services.jobs.kind import Kind, Parameters


class Steps(Parameters):
    """How many steps of which length; `seed` tells one job from another."""

    steps: int = Field(3, ge=1, le=10_000, title="Steps")
    step_s: float = Field(0.0, ge=0.0, le=100.0)
    seed: int = 0
    word: str = ""


def steady(scene: Scene, parameters: Steps, watch: Watch) -> dict[str, Any]:
    """A chain of hashes from the Scene and the seed: the same however often it is begun."""
    chain = f"{fingerprint(scene)} {parameters.seed}"
    for step in range(parameters.steps):
        watch.progress(step / parameters.steps, f"step {step}", best=float(parameters.steps - step), bound=1.0)
        if watch.is_cancelled():
            return {"chain": chain, "steps": step}
        chain = hashlib.sha256(chain.encode()).hexdigest()
        time.sleep(parameters.step_s)
    return {"chain": chain, "steps": parameters.steps}


def stubborn(scene: Scene, parameters: Steps, watch: Watch) -> None:
    """Hears nothing."""
    watch.progress(0.1, "not listening")
    time.sleep(100)


def broken(scene: Scene, parameters: Steps, watch: Watch) -> None:
    """Has a fault."""
    raise ZeroDivisionError("nothing to divide by")


def refusing(scene: Scene, parameters: Steps, watch: Watch) -> None:
    """Says no."""
    raise CannotCompute("there are no trees on level 'Hall'; plant some")


def dying(scene: Scene, parameters: Steps, watch: Watch) -> None:
    """Ends as a process does that took too much memory."""
    os.kill(os.getpid(), signal.SIGKILL)


def unspeakable(scene: Scene, parameters: Steps, watch: Watch) -> float:
    """No JSON value."""
    return float("nan")


def unstorable(scene: Scene, parameters: Steps, watch: Watch) -> str:
    """JSON, but with a character that PostgreSQL does not store."""
    watch.progress(0.5, "half a pair \ud800 and \x00")
    return "\x00"


def printing(scene: Scene, parameters: Steps, watch: Watch) -> str:
    """Prints, as libraries do."""
    print('{"result": "not this"}')
    return "this"


def _words(result: Any) -> list[str]:
    return [f"{result['steps']} steps were made."]


TEST_KINDS = {
    function.__name__: Kind(
        function.__name__, function.__name__.capitalize(), "For the tests.", Steps, function, measure="steps"
    )
    for function in (stubborn, broken, refusing, dying, unspeakable, unstorable, printing)
}
TEST_KINDS["steady"] = Kind("steady", "Steady", "For the tests.", Steps, steady, in_words=_words, measure="steps")
