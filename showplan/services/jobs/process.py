"""The worker's hold on the computing process: start it, listen to it, tell it to stop, kill it."""

import json
import os
import select
import signal
import subprocess
import sys
from contextlib import suppress
from types import TracebackType
from typing import Any

from django.conf import settings

from showplan.records.models import Job
from showplan.services.jobs.kind import Kind

BLOCK_BYTES = 65_536


class Computation:
    """A computing process at work on one job. `report` is its last one, `outcome` its result or problem."""

    def __init__(self, kind: Kind, job: Job) -> None:
        self.report: dict[str, Any] | None = None
        self.outcome: dict[str, Any] | None = None
        self.has_ended = False
        self._unread = b""
        self._reading, writing = os.pipe()
        self._process = subprocess.Popen(
            [sys.executable, "-m", "showplan.services.jobs.child", str(writing)],
            stdin=subprocess.PIPE,
            stdout=2,  # what a library prints belongs into the worker's log
            pass_fds=(writing,),
            cwd=settings.BASE_DIR,
            start_new_session=True,  # an interrupt at the keyboard is for the worker, which decides
        )
        os.close(writing)
        task = {
            "compute": f"{kind.compute.__module__}:{kind.compute.__qualname__}",
            "model": f"{kind.parameters.__module__}:{kind.parameters.__qualname__}",
            "parameters": job.parameters,
            "scene": job.scene,
        }
        self._say(json.dumps(task).encode() + b"\n")

    def __enter__(self) -> "Computation":
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self.kill()
        os.close(self._reading)

    def listen(self, wait_s: float) -> None:
        """Take in what the process says within that time; sets `report`, `outcome` and `has_ended`."""
        if self.has_ended or not select.select([self._reading], [], [], wait_s)[0]:
            return
        block = os.read(self._reading, BLOCK_BYTES)
        self.has_ended = not block
        *lines, self._unread = (self._unread + block).split(b"\n")
        for line in lines:
            message = json.loads(line)
            if "done" in message:
                self.report = message
            else:
                self.outcome = message

    def ask_to_stop(self) -> None:
        """Close its standard input: it may still answer with what it has."""
        if self._process.stdin is not None:
            with suppress(BrokenPipeError):
                self._process.stdin.close()

    def kill(self) -> None:
        """End it now, if it has not ended."""
        self.ask_to_stop()
        with suppress(ProcessLookupError):
            self._process.kill()
        self._process.wait()

    def how_it_ended(self) -> str:
        """In words, for a process that ended without an outcome."""
        code = self._process.wait()
        if code < 0:
            with suppress(ValueError):
                return f"was ended by the signal {signal.Signals(-code).name}"
        return f"ended with the exit code {code}"

    def _say(self, text: bytes) -> None:
        assert self._process.stdin is not None
        with suppress(BrokenPipeError):  # it died at once; `listen` will notice
            self._process.stdin.write(text)
            self._process.stdin.flush()
