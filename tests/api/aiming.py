"""Aiming generated calls at what is there, so that many of them succeed."""

from random import Random
from typing import Any

from django.test import Client
from schemathesis import GenerationMode
from schemathesis.core.parameters import ParameterLocation

from tests.api.client import token_for
from tests.api.whole_tour import VALID_QUERY, WholeTour

FREE = range(10, 40)
CSRF = "a" * 32


def credentials(tour: WholeTour, label: str) -> dict[str, Any]:
    """Headers (and cookies) of the owner; where that could never succeed, of an outsider or of the owner's session."""
    if label == "POST /api/v1/invitations/accept/":
        return {"headers": {"Authorization": f"Bearer {token_for(tour.people['outsider'])}"}}
    if label == "POST /api/v1/tokens/":
        client = Client()
        client.force_login(tour.people["owner"])
        cookies = {"sessionid": client.cookies["sessionid"].value, "csrftoken": CSRF}
        return {"headers": {"X-CSRFToken": CSRF}, "cookies": cookies}
    return {"headers": {"Authorization": f"Bearer {token_for(tour.people['owner'])}"}}


def aim(case: Any, tour: WholeTour, chance: Random, share: float) -> None:
    """Point a generated call at the tour; what was generated to be refused stays as it is.

    `share` of the queries and bodies are replaced by right ones.
    """
    path = case.operation.path
    there = tour.there(path)
    record_id, version = chance.choice([*there, *there[-1:] * len(there)])
    if _is_free(case, ParameterLocation.PATH):
        known = tour.known(path, record_id)
        case.path_parameters = {name: known[name] for name in case.path_parameters}
    if _is_free(case, ParameterLocation.HEADER) and "If-Match" in case.headers:
        case.headers["If-Match"] = chance.choice(["*", f'"{version}"', f'"{version}"'])
    if _is_free(case, ParameterLocation.QUERY) and chance.random() < share:
        case.query = dict(VALID_QUERY.get(path, {}))
    if _is_free(case, ParameterLocation.BODY) and chance.random() < share:
        case.body = _nearly_right(case, tour, chance, share)


def _is_free(case: Any, location: ParameterLocation) -> bool:
    component = case.meta.components.get(location)
    return component is not None and component.mode is GenerationMode.POSITIVE


def _nearly_right(case: Any, tour: WholeTour, chance: Random, share: float) -> Any:
    """A right body, in which now and then one field is as generated."""
    right = tour.body(case.operation.path, case.operation.method, chance.choice(FREE))
    if isinstance(case.body, dict) and isinstance(right, dict) and case.body and chance.random() > share:
        name = chance.choice(sorted(case.body))
        right = {**right, name: case.body[name]}
    return right
