"""Names and identifiers of the demo: the same record has the same UUID everywhere."""

from uuid import UUID, uuid5

PROJECT_NAME = "The Moth Regatta"
OWNER_USERNAME = "demo"
# Drawn once at random; every identifier of the demo follows from it and a path of names.
_NAMESPACE = UUID("6b0f6c7e-2f0b-4d53-9a2e-5d1c8d0f47a1")


def key(*names: str) -> UUID:
    """The identifier of the record with this path of names, e.g. key("node", "Moth 01")."""
    return uuid5(_NAMESPACE, "/".join(names))


PROJECT_ID = key("project", PROJECT_NAME)
