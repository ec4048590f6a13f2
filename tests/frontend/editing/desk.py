"""Filling in forms the way a browser does: everything the page holds is sent back, the token too."""

from html.parser import HTMLParser
from typing import Any

from django.http import HttpResponse
from django.test import Client

from showplan.services.nouns import NOUNS


class _Forms(HTMLParser):
    """The fields of every form on a page that is sent by POST."""

    def __init__(self) -> None:
        super().__init__()
        self.forms: list[dict[str, Any]] = []
        self._open: dict[str, Any] | None = None
        self._area = self._select = ""

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        given = dict(attrs)
        name = given.get("name") or ""
        if tag == "form" and (given.get("method") or "").lower() == "post":
            self._open = {"action": given.get("action") or "", "fields": {}}
            self.forms.append(self._open)
        elif self._open is not None and tag == "input" and name:
            is_tick = given.get("type") in ("checkbox", "radio")
            if not is_tick or "checked" in given:
                self._open["fields"][name] = given.get("value") or ("on" if is_tick else "")
        elif self._open is not None and tag == "textarea":
            self._area = name
            self._open["fields"][name] = ""
        elif self._open is not None and tag == "select":
            self._select = name
            self._open["fields"].setdefault(name, "")
        elif self._open is not None and tag == "option" and self._select and "selected" in given:
            self._open["fields"][self._select] = given.get("value") or ""

    def handle_endtag(self, tag: str) -> None:
        if tag == "form":
            self._open = None
        elif tag == "textarea":
            self._area = ""
        elif tag == "select":
            self._select = ""

    def handle_data(self, data: str) -> None:
        if self._open is not None and self._area:
            self._open["fields"][self._area] += data.removeprefix("\n").removeprefix("\r\n")


def forms_of(response: HttpResponse) -> list[dict[str, Any]]:
    """Every POST form of a page but the one that signs out."""
    parser = _Forms()
    parser.feed(response.content.decode())
    return [form for form in parser.forms if form["action"] != "/sign-out/"]


def fill_in(client: Client, address: str, *, nth: int = 0, **changes: Any) -> HttpResponse:
    """Open the page, change some fields of its form, send it."""
    page = client.get(address)
    assert page.status_code == 200, f"{address}: {page.status_code}"
    return send(client, page, address, nth=nth, **changes)


def send(client: Client, page: HttpResponse, address: str, *, nth: int = 0, **changes: Any) -> HttpResponse:
    """Send a form of a page that is open already; None takes a field out."""
    form = forms_of(page)[nth]
    fields = {name: value for name, value in {**form["fields"], **changes}.items() if value is not None}
    return client.post(form["action"] or address, fields)


def forged(client: Client, address: str, **fields: Any) -> HttpResponse:
    """A POST without a page before it but with a valid token, for people whom the page is refused."""
    token = forms_token(client)
    return client.post(address, {"csrfmiddlewaretoken": token, **fields})


def forms_token(client: Client) -> str:
    """The token of this client's forms, from a page that everybody may open."""
    parser = _Forms()
    parser.feed(client.get("/tokens/new/", follow=True).content.decode())
    return str(parser.forms[0]["fields"]["csrfmiddlewaretoken"])


def lists_of(tour) -> dict[str, str]:
    """The address of the list of each noun."""
    keys = {"project": tour.project.pk, "venue": tour.venue.pk}
    return {noun.path: f"/{noun.parent}s/{keys[noun.parent]}/records/{noun.path}/" for noun in NOUNS}
