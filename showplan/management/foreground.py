"""What a job computes, computed by a command in the foreground: progress on standard error, an interrupt ends it."""

import signal
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from typing import Any

from django.core.management.base import BaseCommand, OutputWrapper

from showplan.planner.scene import Scene
from showplan.planner.watch import CannotCompute
from showplan.services.errors import InvalidInput, RuleBroken
from showplan.services.jobs.kind import Kind, read_parameters


class Told:
    """Writes each new word of progress as a line, and hears an interrupt at the keyboard."""

    def __init__(self, stream: OutputWrapper) -> None:
        self._stream, self._told, self._cancelled = stream, "", False

    def progress(self, done: float, doing: str, best: float | None = None, bound: float | None = None) -> None:
        """A line where anything but the percentage changed."""
        known = {"best so far": best, "no answer can beat": bound}
        parts = [doing, *(f"{words} {value:g}" for words, value in known.items() if value is not None)]
        if (words := ", ".join(parts)) != self._told:
            self._told = words
            self._stream.write(f"{100 * done:.0f} % {words}")

    def is_cancelled(self) -> bool:
        """Whether somebody interrupted."""
        return self._cancelled

    @contextmanager
    def hearing_interrupts(self) -> Iterator[None]:
        """The first interrupt ends the search with the best so far; a second ends the command."""

        def stop(*_: Any) -> None:
            self._cancelled = True
            signal.signal(signal.SIGINT, before)

        before = signal.signal(signal.SIGINT, stop)
        try:
            yield
        finally:
            signal.signal(signal.SIGINT, before)


def computed_here(command: BaseCommand, kind: Kind, scene: Scene, given: Mapping[str, Any]) -> dict[str, Any]:
    """The result of a kind of job for these parameters. Raises InvalidInput, and RuleBroken where the answer is no."""
    parameters = read_parameters(kind, given)
    if faults := list(kind.check(scene, parameters)):
        raise InvalidInput(faults)
    watch = Told(command.stderr)
    try:
        with watch.hearing_interrupts():
            result: dict[str, Any] = kind.compute(scene, parameters, watch)
    except CannotCompute as error:
        raise RuleBroken(str(error)) from error
    return result
