"""Pages ask the database equally often for a small tour and for one twice its size."""

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from showplan.records.models import Venue
from tests.builders import show_tour
from tests.frontend.pages import pages_of, pages_with_buttons_of, signed_in
from tests.tours import a_project

pytestmark = pytest.mark.django_db


def _pages(venue: Venue) -> list[str]:
    return [*pages_of(venue), *pages_with_buttons_of(venue)]


def _queries(user, address: str) -> list[str]:
    client = signed_in(user)
    with CaptureQueriesContext(
        connection,
    ) as captured:
        assert client.get(address).status_code == 200
    return [query["sql"] for query in captured.captured_queries]


def _same(small: list[str], large: list[str]) -> None:
    assert len(small) == len(large), "small:\n" + "\n".join(small) + "\n\nlarge:\n" + "\n".join(large)


def test_twice_the_nodes_ask_no_more(owner):
    small, large = show_tour(owner, 6, "Small"), show_tour(owner, 12, "Large")
    for one, other in zip(_pages(small), _pages(large), strict=True):
        _same(_queries(owner, one), _queries(owner, other))


def test_each_further_venue_asks_the_same_few_times(owner):
    venue = show_tour(owner)
    project, address = venue.project, f"/projects/{venue.project.pk}/"
    counts = [len(_queries(owner, address))]
    for number in (2, 3):
        Venue.objects.create(
            project=project,
            name=f"Venue {number}",
            region="us",
            environment="theatre-hall",
            path_loss_exponent=2.2,
        )
        counts.append(len(_queries(owner, address)))
    assert counts[2] - counts[1] == counts[1] - counts[0] <= 18


def test_more_projects_ask_no_more(owner):
    a_project(owner, "One")
    one = _queries(owner, "/")
    a_project(owner, "Two")
    _same(one, _queries(owner, "/"))


def test_pages_without_records_hardly_ask_at_all(owner):
    for address in ("/formulas/", "/formulas/free_space_loss_db/", "/reference/"):
        assert len(_queries(owner, address)) <= 2, address  # the session and the user
