"""The named cast and one small tour."""

from collections.abc import Iterator
from dataclasses import dataclass

import pytest
from django.test import override_settings

from showplan.records.models import Project, User, Venue
from tests.builders import add_member, show_tour
from tests.tours import a_user

PASSWORD = "lamp-oil-and-ladders"


def pytest_addoption(parser: pytest.Parser) -> None:
    """`--database-only`: for the second database, where tests that ask no database have nothing new to say."""
    parser.addoption("--database-only", action="store_true", help="leave out the tests that use no database")


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """Deselect, and count as deselected, what uses no database where that is asked for."""
    if config.getoption("--database-only"):
        left_out = [item for item in items if not _uses_database(item)]
        config.hook.pytest_deselected(items=left_out)
        items[:] = [item for item in items if _uses_database(item)]


def _uses_database(item: pytest.Item) -> bool:
    fixtures = getattr(item, "fixturenames", ())
    return item.get_closest_marker("django_db") is not None or not {"db", "transactional_db"}.isdisjoint(fixtures)


@pytest.fixture(scope="session", autouse=True)
def _static_files_from_the_tree() -> Iterator[None]:
    """Tests serve style sheets as they stand in the tree; the hashed copies have a test of their own."""
    storages = {
        "default": {"BACKEND": "django.core.files.storage.FileSystemStorage"},
        "staticfiles": {"BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"},
    }
    with override_settings(STORAGES=storages, WHITENOISE_AUTOREFRESH=True, WHITENOISE_USE_FINDERS=True):
        yield


@pytest.fixture
def owner(db: None) -> User:
    """Owns the tour; may do everything with it. Can sign in with PASSWORD."""
    return a_user("odile-owner", PASSWORD)


@pytest.fixture
def editor(db: None) -> User:
    """Edits the tour."""
    return a_user("edgar-editor")


@pytest.fixture
def viewer(db: None) -> User:
    """Looks at the tour and changes nothing."""
    return a_user("vera-viewer")


@pytest.fixture
def outsider(db: None) -> User:
    """Signed in, but a member of no project."""
    return a_user("otto-outsider")


@dataclass(frozen=True)
class Tour:
    """A project and its one venue."""

    project: Project
    venue: Venue


@pytest.fixture
def tour(owner: User, editor: User, viewer: User) -> Tour:
    """A project of owner, editor and viewer with one venue (see `tests.builders.show_tour`)."""
    venue = show_tour(owner)
    add_member(venue, owner, editor, "editor")
    add_member(venue, owner, viewer, "viewer")
    return Tour(venue.project, venue)
