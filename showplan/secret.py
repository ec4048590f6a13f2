"""The key that signs sessions: made once, kept beside the data, readable by its owner only."""

import os
import secrets
import tempfile
from pathlib import Path

SECRET_KEY_BYTES = 48


def read_or_make_secret_key(path: Path) -> str:
    """The key in `path`. Processes that start at once agree: a complete file is linked into place, once."""
    if not path.exists():
        path.parent.mkdir(parents=True, exist_ok=True)
        descriptor, draft = tempfile.mkstemp(dir=path.parent, prefix="secret-key-")  # mode 0600
        try:
            with os.fdopen(descriptor, "w") as file:
                file.write(secrets.token_urlsafe(SECRET_KEY_BYTES))
            os.link(draft, path)
        except FileExistsError:
            pass  # another process was faster: its key counts
        finally:
            os.unlink(draft)
    return path.read_text().strip()
