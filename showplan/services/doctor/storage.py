"""The data folder, the disk under it, and the files that pages are served with."""

import shutil
import tempfile

from django.conf import settings

from showplan.services.doctor.diagnosis import Verdict, fail, ok, warn

MEGABYTE = 1_000_000
LEAST_FREE_MB = 200  # below it neither a backup nor a plan picture fits any more
WISHED_FREE_MB = 1_000


def data_folder() -> Verdict:
    """It exists and a file can be written into it."""
    folder = settings.DATA_DIR
    try:
        with tempfile.TemporaryFile(dir=folder) as file:
            file.write(b"can this be written?")
    except OSError as error:
        hint = "make the folder, give it to the user the service runs as, or set SHOWPLAN_DATA to another"
        return fail(f"cannot be written: {error.strerror}", hint)
    return ok("can be written")


def free_disk() -> Verdict:
    """There is room to grow."""
    free_mb = shutil.disk_usage(settings.DATA_DIR).free // MEGABYTE
    found = f"{free_mb:,} MB free"
    hint = "free some space, or move the data folder to a larger disk"
    if free_mb < LEAST_FREE_MB:
        return fail(found, hint)
    return warn(found, hint) if free_mb < WISHED_FREE_MB else ok(found)


def static_files() -> Verdict:
    """Scripts, styles and pictures were collected; with debug on they are served from the tree."""
    if settings.DEBUG:
        return ok("served from the tree, as debug is on")
    if not (settings.STATIC_ROOT / "staticfiles.json").is_file():
        return fail("not collected: no page can be shown", "run manage.py collectstatic --noinput")
    return ok("collected")
