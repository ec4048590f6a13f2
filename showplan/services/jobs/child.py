"""The computing process: `python -m showplan.services.jobs.child FD`. It has no database, so killing it hurts nothing.

It reads its task as one line of JSON from standard input and writes lines of JSON to the descriptor FD: reports, and
at last a result or a problem. The end of standard input means that nobody wants the result any more: the computation
is told, and two seconds later the process ends, whatever it does. That holds when the worker was killed as well.
"""

import json
import math
import os
import sys
import threading
import time
import traceback
from functools import reduce
from importlib import import_module
from typing import IO, Any

from showplan.planner.scene_file import read
from showplan.planner.watch import CannotCompute

GRACE_S = 2.0
LEAST_BETWEEN_REPORTS_S = 0.1
LARGEST_RESULT_BYTES = 10_000_000
ABANDONED = 3  # exit code


class PipeWatch:
    """Writes reports to the worker; many small steps with the same words are told ten times a second at most."""

    def __init__(self, pipe: IO[bytes]) -> None:
        self._pipe = pipe
        self._cancelled = threading.Event()
        self._told: tuple[str, float] = ("", float("-inf"))

    def progress(self, done: float, doing: str, best: float | None = None, bound: float | None = None) -> None:
        """Tell the worker."""
        words, at_s = self._told
        now_s = time.monotonic()
        if doing == words and now_s - at_s < LEAST_BETWEEN_REPORTS_S:
            return
        self._told = (doing, now_s)
        partial = {"best": _finite(best), "bound": _finite(bound)} if best is not None or bound is not None else None
        send(self._pipe, {"done": _finite(done) or 0.0, "doing": _plain(doing), "partial": partial})

    def is_cancelled(self) -> bool:
        """Whether standard input has ended."""
        return self._cancelled.is_set()

    def leave_when_unwanted(self) -> None:
        """Wait for the end of standard input, then end the process; run in a thread of its own."""
        sys.stdin.buffer.read()
        self._cancelled.set()
        time.sleep(GRACE_S)
        os._exit(ABANDONED)


def main(descriptor: int) -> None:
    """Compute the one task."""
    with open(descriptor, "wb") as pipe:
        task = json.loads(sys.stdin.buffer.readline())
        watch = PipeWatch(pipe)
        threading.Thread(target=watch.leave_when_unwanted, daemon=True).start()
        send(pipe, outcome_of(task, watch))


def outcome_of(task: dict[str, Any], watch: Any) -> dict[str, Any]:
    """{"result": ...} or {"problem": ...}."""
    try:
        parameters = _named(task["model"]).model_validate_json(json.dumps(task["parameters"]))
        result = _named(task["compute"])(read(task["scene"]), parameters, watch)
        size = len(json.dumps(result, allow_nan=False))
    except CannotCompute as error:
        return {"problem": {"code": "cannot-compute", "detail": _plain(str(error))}}
    except Exception as error:
        traceback.print_exc()
        detail = f"the computation stopped with {type(error).__name__}: {error}"
        return {"problem": {"code": "fault", "detail": _plain(detail[:2000])}}
    if size > LARGEST_RESULT_BYTES:
        detail = f"the result has {size:,} bytes, more than the {LARGEST_RESULT_BYTES:,} that are kept; ask for less"
        return {"problem": {"code": "result-too-large", "detail": detail}}
    return {"result": result}


def send(pipe: IO[bytes], message: dict[str, Any]) -> None:
    """One line of JSON."""
    pipe.write(json.dumps(message, allow_nan=False).encode() + b"\n")
    pipe.flush()


def _finite(value: float | None) -> float | None:
    return float(value) if value is not None and math.isfinite(value) else None


def _plain(text: str) -> str:
    """Words that every database takes: without NUL and half character pairs."""
    return text.replace("\x00", "\ufffd").encode(errors="replace").decode()


def _named(reference: str) -> Any:
    """What 'module:name' refers to."""
    module, _, name = reference.partition(":")
    return reduce(getattr, name.split("."), import_module(module))


if __name__ == "__main__":
    main(int(sys.argv[1]))
