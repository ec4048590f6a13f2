"""A worker's heartbeat: a thread with a database connection of its own, which beats however busy the worker is."""

import logging
import threading
from types import TracebackType
from uuid import UUID

from django.db import DatabaseError, connection

from showplan.records.models import Worker
from showplan.services.jobs import queue

log = logging.getLogger("showplan.jobs")
HEARTBEAT_S = 15.0
BEATS_BETWEEN_REAPINGS = 4


class Heart:
    """Beats while the block lasts; every fourth time, once a minute, it looks for the jobs of dead workers."""

    def __init__(self, worker: Worker) -> None:
        self.claim: UUID | None = None  # of the run under way
        self._worker = worker
        self._end = threading.Event()
        self._thread = threading.Thread(target=self._beat, name="heartbeat", daemon=True)

    def __enter__(self) -> "Heart":
        self._thread.start()
        return self

    def __exit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        self._end.set()
        self._thread.join()

    def _beat(self) -> None:
        beats = 0
        while not self._end.wait(HEARTBEAT_S):
            beats += 1
            try:
                queue.beat(self._worker, self.claim)
                if beats % BEATS_BETWEEN_REAPINGS == 0:
                    queue.reap()
            except DatabaseError as error:
                log.warning("no heartbeat: %s", " ".join(str(error).split()))
                connection.close()  # the next beat opens a new one
        connection.close()
