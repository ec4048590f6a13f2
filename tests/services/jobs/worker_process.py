"""`python -m tests.services.jobs.worker_process DATABASE ARGUMENT...`: manage.py worker with the tests' kinds."""

import os
import sys


def main() -> None:
    """Set the database's name, which the tests have changed, and run the command."""
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "showplan.settings")
    from django.conf import settings
    from django.core.management import execute_from_command_line

    from showplan.services.jobs.kinds import KINDS
    from tests.services.jobs.kinds import TEST_KINDS

    settings.DATABASES["default"]["NAME"] = sys.argv[1]
    KINDS.update(TEST_KINDS)
    execute_from_command_line(["manage.py", "worker", *sys.argv[2:]])


if __name__ == "__main__":
    main()
