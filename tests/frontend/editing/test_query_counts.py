"""Lists, forms and histories ask equally often for a small tour and for one twice its size."""

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext

from showplan.services.nouns import NOUNS
from tests.builders import show_tour
from tests.frontend.pages import signed_in

pytestmark = pytest.mark.django_db


def _queries(user, address: str) -> list[str]:
    client = signed_in(user)
    with CaptureQueriesContext(connection) as captured:
        assert client.get(address).status_code == 200, address
    return [query["sql"] for query in captured.captured_queries]


def _pages(venue) -> list[str]:
    pages = [f"/projects/{venue.project_id}/history/", f"/projects/{venue.project_id}/members/"]
    for noun in NOUNS:
        parent = venue if noun.parent == "venue" else venue.project
        base = f"/{noun.parent}s/{parent.pk}/records/{noun.path}/"
        pages += [base, f"{base}new/"]
        record = noun.within(parent).order_by("created_at").first()
        if record is not None:
            pages += [f"{base}{record.pk}/", f"{base}{record.pk}/history/"]
    return pages


def test_twice_the_records_ask_no_more(owner):
    small, large = show_tour(owner, 6, "Small"), show_tour(owner, 12, "Large")
    for one, other in zip(_pages(small), _pages(large), strict=True):
        few, many = _queries(owner, one), _queries(owner, other)
        assert len(few) == len(many), f"{one}\nsmall:\n" + "\n".join(few) + "\n\nlarge:\n" + "\n".join(many)
        assert len(few) <= 16, one
