"""Records kept from test to test: made once, out of reach of what a test writes, gone when they are let go."""

from collections.abc import Iterator

import pytest

from showplan.records.models import User
from tests.kept import Kept, Made
from tests.tours import a_user

pytestmark = pytest.mark.django_db


def _make_lena(made: Made) -> None:
    made["lena"] = a_user("lena")


def _make_omar(made: Made) -> None:
    made["lena"].username = "changed in memory"
    made["omar"] = a_user("omar")


@pytest.fixture
def pile(db: None) -> Iterator[Kept]:
    """One of its own: nothing is held yet, and nothing afterwards."""
    pile = Kept({"lena": _make_lena, "omar": _make_omar})
    yield pile
    pile.hold()


def _there() -> set[str]:
    return set(User.objects.values_list("username", flat=True))


def test_layers_lie_on_each_other_and_go_from_the_top(pile):
    pile.hold(["lena", "omar"])
    assert _there() == {"lena", "omar"}
    pile.hold(["lena"])
    assert (_there(), pile.names) == ({"lena"}, ["lena"])
    assert pile.copies()["lena"].username == "lena"
    pile.hold()
    assert (_there(), pile.copies()) == (set(), {})


def test_what_is_held_is_not_made_again_and_other_layers_are(pile):
    pile.hold(["lena"])
    first = pile.copies()["lena"].pk
    pile.hold(["lena", "omar"])
    assert pile.copies()["lena"].pk == first
    pile.hold([])
    pile.hold(["lena"])
    assert _there() == {"lena"}


def test_a_copy_may_be_changed(pile):
    pile.hold(["lena"])
    pile.copies()["lena"].username = "changed by a test"
    assert pile.copies()["lena"].username == "lena"


def test_what_could_not_be_made_leaves_nothing(pile):
    with pytest.raises(KeyError, match="lena"):
        pile.hold(["omar"])
    pile.hold()
    assert _there() == set()
