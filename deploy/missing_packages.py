"""Print which packages of a lock file this environment lacks: python missing_packages.py LOCK_FILE.

Runs in a bare environment: beside the standard library it needs only what pip carries within itself.
"""

import sys
from importlib.metadata import PackageNotFoundError, version
from pathlib import Path

from pip._vendor.packaging.requirements import Requirement


def missing(lock_text: str) -> list[str]:
    """Return "name version" of every pinned package that applies here and is not installed so."""
    absent = []
    for line in lock_text.splitlines():
        if "==" not in line or line.startswith((" ", "#")):
            continue
        requirement = Requirement(line.rstrip("\\ "))
        if requirement.marker is not None and not requirement.marker.evaluate():
            continue
        try:
            present = requirement.specifier.contains(version(requirement.name), prereleases=True)
        except PackageNotFoundError:
            present = False
        if not present:
            absent.append(f"{requirement.name} {requirement.specifier}".replace("==", ""))
    return absent


if __name__ == "__main__":
    names = missing(Path(sys.argv[1]).read_text(encoding="utf-8"))
    print(f"Not installed yet ({len(names)}): {', '.join(names)}")
