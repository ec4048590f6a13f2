"""The editor at the pages of the tour."""

import pytest

from tests.frontend.editing.desk import lists_of
from tests.frontend.pages import signed_in


@pytest.fixture
def lists(tour) -> dict[str, str]:
    return lists_of(tour)


@pytest.fixture
def desk(tour, editor):
    """The editor at the pages."""
    return signed_in(editor)
