"""The service keeps to its description: generated calls of every operation, answered in process.

Each call meets the same small tour: what it changes is rolled back before the next.
"""

import json
from collections import Counter
from collections.abc import Iterator
from contextlib import contextmanager
from random import Random
from typing import Any

import pytest
import schemathesis
from django.core.cache import cache
from django.core.signals import request_finished, request_started
from django.core.wsgi import get_wsgi_application
from django.db import close_old_connections
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st
from schemathesis import GenerationMode
from schemathesis import checks as c
from schemathesis.config import SchemathesisConfig

from api.views.documentation import DESCRIPTION_FILE
from tests.api.aiming import aim, credentials
from tests.api.client import ApiClient, api_for, problem
from tests.api.whole_tour import WholeTour, last_noun, rolled_back, whole_tour
from tests.kept import Kept

pytestmark = pytest.mark.django_db

DESCRIPTION = json.loads(DESCRIPTION_FILE.read_text(encoding="utf-8"))
LABELS = [f"{method.upper()} {path}" for path, item in DESCRIPTION["paths"].items() for method in item]
# Worked out from a venue's Scene, or known without any record: the same whatever database the Scene is read from.
COMPUTED = {
    *("air", "strategies", "calibration-fit", "coverage", "coverage.csv", "coverage.npz", "coverage.png", "failures"),
    *("links", "plan", "power", "radio-channels", "readiness", "routes", "spectrum"),
    *("formulas", "reference", "job-kinds"),
}
IS_COMPUTED = {label for label in LABELS if label.startswith("GET ") and last_noun(label) in COMPUTED}
GENERATED = [pytest.param(one, marks=pytest.mark.one_database if one in IS_COMPUTED else ()) for one in LABELS]
SEED = 15_4  # IEEE 802.15.4; any number will do, as long as it stays
EXAMPLES = 16
CHECKS = [
    c.not_a_server_error,
    c.status_code_conformance,
    c.content_type_conformance,
    c.response_headers_conformance,
    c.response_schema_conformance,
]
SETTINGS = settings(
    max_examples=EXAMPLES,
    derandomize=True,
    database=None,
    deadline=None,
    phases=[Phase.generate, Phase.shrink],
    suppress_health_check=list(HealthCheck),
)


@pytest.fixture(scope="module")
def tour(kept: Kept, django_db_blocker: Any, tmp_path_factory: pytest.TempPathFactory) -> Iterator[WholeTour]:
    """One tour for all operations."""
    with django_db_blocker.unblock():
        kept.hold()
        with whole_tour(tmp_path_factory.mktemp("media")) as made:
            yield made


@pytest.fixture(scope="module")
def owner(tour: WholeTour) -> ApiClient:
    """Calls as the owner."""
    return api_for(tour.people["owner"])


@pytest.fixture(scope="module")
def operations() -> dict[str, Any]:
    """Every operation of the description by its label, answers held to the fields that are described."""
    schema = schemathesis.openapi.from_dict(_closed(DESCRIPTION), config=SchemathesisConfig(seed=SEED))
    schema.app = get_wsgi_application()
    return {operation.ok().label: operation.ok() for operation in schema.get_all_operations()}


@contextmanager
def _connections_kept() -> Iterator[None]:
    """As in the platform's own test client: the end of a call must not close the connection that holds the tour."""
    for signal in (request_started, request_finished):
        signal.disconnect(close_old_connections)
    yield
    for signal in (request_started, request_finished):
        signal.connect(close_old_connections)


@pytest.mark.parametrize("label", GENERATED)
def test_the_service_keeps_to_its_description(label: str, operations: dict[str, Any], tour: WholeTour) -> None:
    operation, who, seen = operations[label], credentials(tour, label), Counter()
    good, bad = (operation.as_strategy(mode) for mode in (GenerationMode.POSITIVE, GenerationMode.NEGATIVE))
    cases = st.one_of(good, good, bad)

    @SETTINGS
    @given(case=cases, number=st.integers(0, 9999))
    def call(case: Any, number: int) -> None:
        if number % 5 < 4:
            aim(case, tour, Random(number), share=0.6 if number % 2 else 1.0)
        cache.clear()
        with _connections_kept(), rolled_back():
            response = case.call(**who)
        seen[response.status_code] += 1
        # Aiming may have replaced what made the call a bad one; and no bytes are a bad picture or table by description.
        still_bad = any(part.mode is GenerationMode.NEGATIVE for part in case.meta.components.values())
        still_bad = still_bad and case.media_type in (None, "application/json")
        case.validate_response(response, checks=[*CHECKS, c.negative_data_rejection] if still_bad else CHECKS)

    call()
    assert any(status < 300 for status in seen), f"{label} never succeeded: {dict(seen)}"


@pytest.mark.one_database  # refused before any record is read; so is what the next test sends
@pytest.mark.parametrize("path", DESCRIPTION["paths"])
def test_a_method_that_is_not_described_is_refused_with_those_that_are(
    path: str, tour: WholeTour, owner: ApiClient
) -> None:
    described = {method.upper() for method in DESCRIPTION["paths"][path]}
    for method in {"GET", "POST", "PUT", "PATCH", "DELETE"} - described:
        response = owner.send(method, tour.address(path), "{}")
        problem(response, 405)
        allowed = set(response["Allow"].split(", "))
        assert described <= allowed <= described | {"HEAD", "OPTIONS"}, method


@pytest.mark.one_database
@pytest.mark.parametrize("label", LABELS)
def test_every_operation_refuses_what_it_cannot_read_or_answer(label: str, tour: WholeTour, owner: ApiClient) -> None:
    method, path = label.split()
    operation, address = DESCRIPTION["paths"][path][method.lower()], tour.address(path)
    nobody = problem(ApiClient().send(method, address, "{}"), 401)
    assert "token" in nobody["detail"] or "credentials" in nobody["detail"]
    problem(owner.send(method, address, "{}", Accept="audio/mpeg"), 406)
    problem(owner.send(method, f"{address}?colour=red", "{}", If_Match="*"), 400)
    if "requestBody" in operation and path != "/api/v1/tokens/":  # a token is refused there before its body is read
        problem(owner.send(method, address, "a=1", "application/x-www-form-urlencoded", If_Match="*"), 415)


def _closed(description: dict[str, Any]) -> dict[str, Any]:
    """The description with answers that may have no field beyond those named: the code must not say more."""
    closed: dict[str, Any] = json.loads(json.dumps(description))
    for schema in closed["components"]["schemas"].values():
        if "properties" in schema:
            schema.setdefault("additionalProperties", False)
    closed["components"]["schemas"]["Scene"]["additionalProperties"] = True  # the Scene has a schema of its own
    return closed
