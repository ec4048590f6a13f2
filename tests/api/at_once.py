"""Several callers at the same moment, each with a database connection of its own."""

from collections.abc import Callable, Sequence
from concurrent.futures import ThreadPoolExecutor
from threading import Barrier
from typing import TypeVar

from django.db import connections

Answer = TypeVar("Answer")


def all_at_once(calls: Sequence[Callable[[], Answer]]) -> list[Answer]:
    """The answers of the calls, in their order; every call starts when all threads are there."""
    start = Barrier(len(calls), timeout=30)

    def run(call: Callable[[], Answer]) -> Answer:
        try:
            start.wait()
            return call()
        finally:
            connections.close_all()

    with ThreadPoolExecutor(len(calls)) as pool:
        return list(pool.map(run, calls))
