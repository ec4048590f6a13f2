"""The named cast, one small tour and the demo: each made once and kept from test to test (`tests.kept`)."""

from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import pytest
from django.test import override_settings

from showplan.records.models import Project, User, Venue
from showplan.services.demo import load_demo
from tests.api.bodies import room_for_more
from tests.builders import add_member, show_tour
from tests.kept import Kept, Made
from tests.tours import a_user

PASSWORD = "lamp-oil-and-ladders"
PAGES = Path(__file__).parent / "frontend"
FORMS = PAGES / "editing"


def pytest_addoption(parser: pytest.Parser) -> None:
    """`--second-database`: leave out what has nothing new to say there."""
    parser.addoption(
        "--second-database", action="store_true", help="leave out what was run on the first database and cannot differ"
    )


def pytest_collection_modifyitems(config: pytest.Config, items: list[pytest.Item]) -> None:
    """Deselect, and count as deselected, what cannot differ on a second database where that is asked for."""
    if config.getoption("--second-database"):
        left_out = [item for item in items if not _may_differ(item)]
        config.hook.pytest_deselected(items=left_out)
        items[:] = [item for item in items if _may_differ(item)]


def _may_differ(item: pytest.Item) -> bool:
    """The rule, as DEVELOPERS.md tells it under "Tests"."""
    fixtures = getattr(item, "fixturenames", ())
    uses_one = item.get_closest_marker("django_db") is not None or not {"db", "transactional_db"}.isdisjoint(fixtures)
    only_shows = item.path.is_relative_to(PAGES) and not item.path.is_relative_to(FORMS)
    return uses_one and not only_shows and item.get_closest_marker("one_database") is None


def _commits(item: pytest.Item) -> bool:
    marker = item.get_closest_marker("django_db")
    by_marker = marker is not None and marker.kwargs.get("transaction", False)
    return by_marker or not {"transactional_db", "live_server"}.isdisjoint(getattr(item, "fixturenames", ()))


@pytest.fixture(scope="session", autouse=True)
def _static_files_from_the_tree() -> Iterator[None]:
    """Tests serve style sheets as they stand in the tree; the hashed copies have a test of their own."""
    storages = {
        "default": {"BACKEND": "django.core.files.storage.FileSystemStorage"},
        "staticfiles": {"BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"},
    }
    with override_settings(STORAGES=storages, WHITENOISE_AUTOREFRESH=True, WHITENOISE_USE_FINDERS=True):
        yield


@dataclass(frozen=True)
class Tour:
    """A project and its one venue."""

    project: Project
    venue: Venue


def make_tour(made: Made) -> None:
    """The owner, editor and viewer, and their project with one venue (see `tests.builders.show_tour`)."""
    owner, editor, viewer = a_user("odile-owner", PASSWORD), a_user("edgar-editor"), a_user("vera-viewer")
    venue = show_tour(owner)
    add_member(venue, owner, editor, "editor")
    add_member(venue, owner, viewer, "viewer")
    made |= {"owner": owner, "editor": editor, "viewer": viewer, "tour": Tour(venue.project, venue)}


def make_room(made: Made) -> None:
    """In that tour, what new records can refer to."""
    made["given"] = room_for_more(made["tour"].venue, made["owner"])


def make_demo(made: Made) -> None:
    """The demo, alone in the database."""
    made["demo"] = load_demo()


MAKERS = {"kept_tour": make_tour, "kept_room": make_room, "kept_demo": make_demo}


@pytest.fixture(scope="session")
def kept(django_db_setup: None, django_db_blocker: Any) -> Iterator[Kept]:
    """What is kept from test to test. Who opens a transaction for a whole module lets go of it first: `kept.hold()`."""
    kept = Kept(MAKERS)
    yield kept
    with django_db_blocker.unblock():
        kept.hold()


@pytest.fixture
def _hold_what_is_wanted(request: pytest.FixtureRequest, kept: Kept, django_db_blocker: Any) -> list[str]:
    """A test wants those fixtures of MAKERS that it uses, itself or through others; what is left to make is returned.

    Under a test that commits nothing can be kept: all that it wants is made for it alone.
    """
    wanted = [name for name in MAKERS if name in request.fixturenames]
    with django_db_blocker.unblock():
        kept.hold([] if _commits(request.node) else wanted)
    return wanted if _commits(request.node) else []


@pytest.fixture
def _django_db_helper(_hold_what_is_wanted: list[str], _django_db_helper: None) -> None:
    """pytest-django's own, which begins the test's savepoint or, for a test that commits, empties the tables."""


@pytest.fixture
def kept_records(db: None, kept: Kept, _hold_what_is_wanted: list[str]) -> Made:
    """All that was made for this test, by name."""
    records = kept.copies()
    for name in _hold_what_is_wanted:
        MAKERS[name](records)
    return records


@pytest.fixture
def kept_tour(kept_records: Made) -> Made:
    """Asks for what `make_tour` makes."""
    return kept_records


@pytest.fixture
def kept_room(kept_tour: Made) -> Made:
    """Asks for what `make_tour` and `make_room` make."""
    return kept_tour


@pytest.fixture
def kept_demo(kept_records: Made) -> Made:
    """Asks for what `make_demo` makes."""
    return kept_records


@pytest.fixture
def owner(kept_records: Made) -> User:
    """Owns the tour; may do everything with it. Can sign in with PASSWORD."""
    return kept_records.get("owner") or a_user("odile-owner", PASSWORD)


@pytest.fixture
def editor(kept_records: Made) -> User:
    """Edits the tour."""
    return kept_records.get("editor") or a_user("edgar-editor")


@pytest.fixture
def viewer(kept_records: Made) -> User:
    """Looks at the tour and changes nothing."""
    return kept_records.get("viewer") or a_user("vera-viewer")


@pytest.fixture
def outsider(db: None) -> User:
    """Signed in, but a member of no project."""
    return a_user("otto-outsider")


@pytest.fixture
def tour(kept_tour: Made) -> Tour:
    """A project of owner, editor and viewer with one venue."""
    return kept_tour["tour"]
