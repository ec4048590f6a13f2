"""All checks in order. To add one: a function without arguments that returns a verdict, and a line in CHECKS."""

from collections.abc import Callable, Iterator
from typing import Final

from showplan.services.doctor import database, deployment, storage, workers
from showplan.services.doctor.diagnosis import Diagnosis, Verdict

CHECKS: Final[dict[str, Callable[[], Verdict]]] = {
    "data folder": storage.data_folder,
    "disk": storage.free_disk,
    "static files": storage.static_files,
    "database": database.reachable,
    "migrations": database.migrations,
    "guards": database.guards_in_place,
    "clock": database.clock,
    "worker": workers.worker,
    "reference tables": deployment.reference_tables,
    "secret key": deployment.secret_key,
    "debug": deployment.debug,
    "allowed hosts": deployment.allowed_hosts,
}


def examine() -> Iterator[Diagnosis]:
    """Every check's finding; one that cannot even be carried out has failed, with the reason."""
    for name, check in CHECKS.items():
        try:
            state, found, hint = check()
        except Exception as error:
            reason = " ".join(str(error).split()) or "no reason given"
            state, found, hint = "fail", f"{type(error).__name__}: {reason}", "see the failures above it first"
        yield Diagnosis(name, state, found, hint)
