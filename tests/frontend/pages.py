"""Getting and reading pages in the tests."""

import re
from html import unescape

from django.http import HttpResponse
from django.test import Client

from showplan.records.models import User, Venue


def signed_in(user: User) -> Client:
    """A client of `user` that must send the token of its forms, as a browser must."""
    client = Client(enforce_csrf_checks=True)
    client.force_login(user)
    return client


def words_of(response: HttpResponse) -> str:
    """The text of a page, tags taken out, white space joined."""
    html = re.sub(r"(?s)<(script|style|title).*?</\1>", " ", response.content.decode())
    return " ".join(unescape(re.sub(r"<[^>]+>", " ", html)).split())


def pages_of(venue: Venue) -> list[str]:
    """Every address that shows something of a project."""
    here = f"/venues/{venue.pk}/"
    parts = ("", "power/", "coverage.png", "coverage.json", "coverage.csv", "coverage.npz", "scene.json")
    return [f"/projects/{venue.project.pk}/", *(f"{here}{part}" for part in parts)]


def pages_with_buttons_of(venue: Venue) -> list[str]:
    """Every address of a venue that shows something and takes a form."""
    return [f"/venues/{venue.pk}/{part}/" for part in ("spectrum", "calibration", "relays", "air", "jobs")]


OPEN_TO_ALL_WHO_SIGNED_IN = ["/", "/formulas/", "/formulas/free_space_loss_db/", "/reference/"]
