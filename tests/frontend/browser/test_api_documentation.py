"""The page of the API's description in a real browser: only this server is asked, nothing blocked, calls work."""

import json

import pytest

from api.views.documentation import DESCRIPTION_FILE

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]
ADDRESS = "/api/v1/docs/"
PATHS = json.loads(DESCRIPTION_FILE.read_text(encoding="utf-8"))["paths"].values()
IDS = {f"operations-{one['tags'][0]}-{one['operationId']}" for path in PATHS for one in path.values()}


@pytest.fixture
def visit(visit_with, size):
    """The page, as somebody who is not signed in sees it; `asked` notes every address the browser asks for."""
    made = visit_with(size)
    made.asked = []
    made.page.on("request", lambda request: made.asked.append(request.url))
    made.open(ADDRESS)
    return made


def _sound(visit):
    assert visit.complaints == []
    assert visit.page.evaluate("window.violations") == []
    wide, window = visit.page.evaluate("[document.documentElement.scrollWidth, window.innerWidth]")
    assert wide <= window


def _operations_seen(visit) -> set[str]:
    """Long lists are drawn only as far as they are in view: go through the page, open each noun, note what is there."""
    closed = visit.page.locator('.expand-operation[aria-expanded="false"]')
    seen: set[str] = set()
    for _ in range(800):
        while closed.count():
            closed.first.click()
        seen.update(visit.page.evaluate("[...document.querySelectorAll('.opblock')].map((block) => block.id)"))
        if seen >= IDS:
            break
        # What a step jumps over because the lists above it shrink is met the next time round.
        visit.page.evaluate(
            "innerHeight + scrollY >= document.documentElement.scrollHeight - 2"
            " ? scrollTo(0, 0) : scrollBy(0, innerHeight / 3)"
        )
        visit.page.wait_for_timeout(60)
    return seen


def test_every_operation_is_listed_and_nothing_is_fetched_from_elsewhere(visit):
    visit.page.locator(".expand-operation").first.wait_for()
    assert IDS - _operations_seen(visit) == set()
    visit.picture("api-documentation")
    assert visit.page.get_by_role("link", name="Sign in").get_attribute("href") == f"/sign-in/?next={ADDRESS}"
    elsewhere = [address for address in visit.asked if not address.startswith((visit.base, "data:"))]
    assert elsewhere == []
    _sound(visit)


def test_an_operation_opens_with_its_scope_fields_and_example(visit):
    visit.page.locator("#operations-tag-nodes .expand-operation").click()
    visit.page.locator("#operations-nodes-create-node .opblock-summary-control").click()
    block = visit.page.locator("#operations-nodes-create-node")
    block.get_by_text("A token needs the scope").wait_for()
    visit.picture("api-documentation-operation")
    assert "Lantern 4" in block.locator(".opblock-section-request-body").inner_text()
    _sound(visit)


def test_who_is_signed_in_tries_a_write_and_it_counts(visit_with, size, owner):
    visit = visit_with(size)
    visit.enter(owner)
    visit.open(ADDRESS)
    assert visit.page.get_by_text(f"You are signed in as {owner.username}").is_visible()
    visit.page.locator("#operations-tag-projects .expand-operation").click()
    block = visit.page.locator("#operations-projects-start-project")
    block.locator(".opblock-summary-control").click()
    block.get_by_role("button", name="Try it out").click()
    block.locator("textarea").fill('{"name": "Tried on the page"}')
    block.get_by_role("button", name="Execute").click()
    block.locator(".live-responses-table .response-col_status", has_text="201").wait_for()
    assert list(owner.memberships.values_list("project__name", "role")) == [("Tried on the page", "owner")]
    _sound(visit)
