"""A real Chromium, a server, and a page that notes everything a browser complains about."""

import json
import os
import shutil
import time
from collections.abc import Iterator
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any

import pytest
from axe_playwright_python.base import AXE_SCRIPT
from axe_playwright_python.sync_playwright import Axe
from django.conf import settings
from playwright.sync_api import Browser, BrowserContext, Page, sync_playwright

from showplan.records.models import User
from tests.conftest import PASSWORD, Tour
from tests.frontend.browser.drawing_page import Drawing
from tests.frontend.pages import signed_in
from tests.kept import Kept

FLAGS = (
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
)
NAMES = ("chromium", "chromium-browser", "google-chrome", "google-chrome-stable")
PATIENCE_MS = 60_000
SIZES = {"wide": (1440, 900), "narrow": (375, 812)}
NOTE_VIOLATIONS = """
window.violations = [];
document.addEventListener("securitypolicyviolation", (event) => {
  window.violations.push(`${event.violatedDirective} ${event.blockedURI}`);
});
"""
# A page has few colours and thousands of elements, and axe reads each element's colours from their text several times:
# what a text says is kept, which halves the time on large pages. A text that is no colour is refused each time.
READ_COLOURS_ONCE = """
(() => {
  const known = new Map(), colour = axe.commons.color.Color.prototype, read = colour.parseString;
  colour.parseString = function (text) {
    if (!known.has(text)) {
      read.call(this, text);
      known.set(text, [this.r, this.g, this.b, this.alpha]);
    }
    [this.r, this.g, this.b, this.alpha] = known.get(text);
    return this;
  };
})();
"""
# What the browser notes where htmx sets the focus on new content a moment before it does so itself: on the same
# element, as the tests of focus see.
FOCUSED_BEFORE = "Autofocus processing was blocked because a document already has a focused element."
# Waits until the scripts have nothing left to do; whether something still moves.
STILL_MOVES = """async () => {
  await document.fonts.ready;
  await new Promise((done) => requestAnimationFrame(() => requestIdleCallback(done)));
  return document.getAnimations().length > 0;
}"""
AXE = Axe(AXE_SCRIPT + READ_COLOURS_ONCE)


def _note_message(visit: "Visit", message: Any) -> None:
    if message.text != FOCUSED_BEFORE:
        visit.complaints.append(f"{message.type}: {message.text}")


def _note_failure(visit: "Visit", request: Any) -> None:
    """A request that the browser itself gave up, as it does with the icon of a page that is left, is no fault."""
    if request.failure != "net::ERR_ABORTED":
        visit.complaints.append(f"failed: {request.url} ({request.failure})")


@pytest.fixture(scope="session", autouse=True)
def _playwright_beside_django() -> Iterator[None]:
    """Playwright keeps an event loop in this thread; Django would refuse to use the database beside one."""
    before = os.environ.get("DJANGO_ALLOW_ASYNC_UNSAFE")
    os.environ["DJANGO_ALLOW_ASYNC_UNSAFE"] = "true"
    yield
    if before is None:
        del os.environ["DJANGO_ALLOW_ASYNC_UNSAFE"]
    else:
        os.environ["DJANGO_ALLOW_ASYNC_UNSAFE"] = before


@pytest.fixture(scope="session")
def browser(kept: Kept, django_db_blocker: Any) -> Iterator[Browser]:
    """The system's Chromium, without a network of its own.

    Beside the event loop that comes and goes with it Django has another connection in this thread: what is kept in a
    transaction of the one would lock the database for the other.
    """
    program = os.environ.get("SHOWPLAN_CHROMIUM") or next(filter(None, map(shutil.which, NAMES)), None)
    if program is None:
        pytest.fail("no Chromium: install the package chromium, set SHOWPLAN_CHROMIUM, or run with -m 'not browser'")
    with django_db_blocker.unblock():
        kept.hold()
    with sync_playwright() as playwright:
        chromium = playwright.chromium.launch(executable_path=program, args=list(FLAGS))
        yield chromium
        chromium.close()
        with django_db_blocker.unblock():
            kept.hold()


@dataclass
class Visit:
    """A page of the running server and what the browser said about it."""

    page: Page
    base: str
    pictures: Path
    has_scripts: bool = True
    complaints: list[str] = field(default_factory=list)
    under_way: set[Any] = field(default_factory=set)

    def wait_until(self, holds: str) -> None:
        """Wait until a JavaScript expression holds in the page (asked from outside: the page forbids eval)."""
        last = time.monotonic() + PATIENCE_MS / 1000
        while not self.page.evaluate(holds):
            assert time.monotonic() < last, holds
            self.page.wait_for_timeout(50)

    def wait_for_focus(self, expression: str, value: str) -> None:
        """Wait until the element that has the focus is the wanted one, e.g. ("id", "main")."""
        self.wait_until(f"document.activeElement.{expression} === {json.dumps(value)}")

    def open(self, path: str) -> None:
        """Go to a page and wait until everything it fetches is there, and its scripts have nothing left to do.

        (The browser's own "network idle" is half a second in which nothing is asked for: longer than most pages take.)
        """
        self.under_way.clear()
        self.page.goto(self.base + path, wait_until="load")
        last = time.monotonic() + PATIENCE_MS / 1000
        while self.has_scripts and not all(self._is_at_rest() for _ in range(2)):
            assert time.monotonic() < last, f"{path} still moves, or fetches {self.under_way}"
            self.page.wait_for_timeout(20)

    def _is_at_rest(self) -> bool:
        return not self.page.evaluate(STILL_MOVES) and not self.under_way

    def sign_in(self, user: User) -> None:
        """Fill in the form as a user does."""
        self.open("/sign-in/")
        self.page.get_by_label("Username").fill(user.username)
        self.page.get_by_label("Password").fill(PASSWORD)
        self.page.get_by_role("button", name="Sign in").click()
        self.page.wait_for_url(self.base + "/")

    def enter(self, user: User) -> None:
        """Be signed in from the first page on, by a session's cookie: the form takes longer than most pages."""
        session = signed_in(user).cookies[settings.SESSION_COOKIE_NAME]
        self.page.context.add_cookies([{"name": session.key, "value": session.value, "url": self.base}])

    def picture(self, name: str) -> None:
        """Keep a picture of the whole page for people to look at if BROWSER_PICTURES is set; its path is printed."""
        if not os.environ.get("BROWSER_PICTURES"):
            return
        path = self.pictures / f"{name}.png"
        self.page.screenshot(path=path, full_page=True)
        print(f"picture: {path}")

    def box(self, selector: str) -> dict[str, float]:
        """Where an element is; it must be visible."""
        found = self.page.locator(selector).first.bounding_box()
        assert found is not None, f"{selector} is not visible"
        return dict(found)

    def refuse_faults(self, name: str) -> None:
        """No complaint, nothing blocked, no sideways scrolling, nothing that keeps people with a screen reader out."""
        assert self.complaints == [], name
        assert self.page.evaluate("window.violations") == [], name
        wide, window = self.page.evaluate("[document.documentElement.scrollWidth, window.innerWidth]")
        assert wide <= window, f"{name}: {wide} px wide in a window of {window} px"
        found = AXE.run(self.page).response["violations"]
        grave = [one for one in found if one["impact"] in ("serious", "critical")]
        assert grave == [], f"{name}: " + "; ".join(_in_words(one) for one in grave)


def _slow_down(page: Page) -> None:
    """Give the page a slower processor by the factor in BROWSER_SLOWDOWN, if it is set."""
    factor = os.environ.get("BROWSER_SLOWDOWN")
    if factor:
        session = page.context.new_cdp_session(page)
        session.send("Emulation.setCPUThrottlingRate", {"rate": float(factor)})


def _in_words(violation: dict[str, Any]) -> str:
    places = ", ".join(str(node["target"]) for node in violation["nodes"][:5])
    return f"{violation['id']} ({violation['help']}) at {places}"


def overlap(a: dict[str, float], b: dict[str, float]) -> bool:
    """Whether two boxes share more than a pixel."""
    across = min(a["x"] + a["width"], b["x"] + b["width"]) - max(a["x"], b["x"])
    down = min(a["y"] + a["height"], b["y"] + b["height"]) - max(a["y"], b["y"])
    return across > 1 and down > 1


@pytest.fixture(params=list(SIZES))
def size(request: pytest.FixtureRequest) -> str:
    """Both sizes of window in turn."""
    return str(request.param)


@pytest.fixture
def visit_with(browser: Browser, live_server: Any, tmp_path_factory: pytest.TempPathFactory) -> Iterator[Any]:
    """Makes visits: `visit_with(size, **options of the browser context)`."""
    contexts: list[BrowserContext] = []

    def make(size: str, **options: Any) -> Visit:
        width, height = SIZES[size]
        context = browser.new_context(viewport={"width": width, "height": height}, **options)
        context.set_default_timeout(PATIENCE_MS)
        context.add_init_script(NOTE_VIOLATIONS)
        contexts.append(context)
        page = context.new_page()
        _slow_down(page)
        has_scripts = options.get("java_script_enabled", True)
        visit = Visit(page, live_server.url, tmp_path_factory.mktemp(f"pictures-{size}-"), has_scripts)
        page.on("request", lambda request: visit.under_way.add(request))
        for end in ("requestfinished", "requestfailed"):
            page.on(end, lambda request: visit.under_way.discard(request))
        page.on("console", lambda message: _note_message(visit, message))
        page.on("pageerror", lambda error: visit.complaints.append(f"error: {error}"))
        page.on("requestfailed", lambda request: _note_failure(visit, request))
        return visit

    yield make
    for context in contexts:
        context.close()


@pytest.fixture
def wide(visit_with: Any, owner: User, tour: Tour) -> Drawing:
    """The drawing page in a wide window, opened by the owner."""
    visit = visit_with("wide")
    visit.enter(owner)
    return Drawing(visit, tour)
