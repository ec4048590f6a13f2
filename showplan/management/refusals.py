"""How commands end when something is wrong: one line for each fault, and an exit code that scripts can tell apart."""

import sys
from collections.abc import Iterator
from contextlib import contextmanager

from django.core.management.base import BaseCommand

from showplan.services.errors import InvalidDocument, InvalidInput, InvalidTable, ServiceError

EXIT_REFUSED = 1
EXIT_BAD_INPUT = 2


@contextmanager
def refusals(command: BaseCommand, source: str = "") -> Iterator[None]:
    """Turn errors into lines, and leave with their exit code; faults of a document or table begin with its `source`."""
    try:
        yield
    except (InvalidDocument, InvalidTable) as error:
        _leave(command, [f"{source}: {fault}" for fault in error.faults], EXIT_BAD_INPUT)
    except InvalidInput as error:
        lines = [f"{fault.field}: {fault.message}" if fault.field else fault.message for fault in error.faults]
        _leave(command, lines, EXIT_BAD_INPUT)
    except ServiceError as error:
        _leave(command, [str(error)], EXIT_REFUSED)
    except OSError as error:
        _leave(command, [f"{error.filename}: {error.strerror}"], EXIT_BAD_INPUT)


def _leave(command: BaseCommand, lines: list[str], code: int) -> None:
    for line in lines:
        command.stderr.write(line)
    sys.exit(code)
