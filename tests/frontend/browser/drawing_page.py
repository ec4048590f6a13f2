"""The drawing page as a person uses it, for the browser tests."""


class Drawing:
    """The drawing page of the hall, 40 x 20 m, in a window of its own."""

    def __init__(self, visit, tour, level: str = "Hall") -> None:
        self.visit, self.page, self.tour = visit, visit.page, tour
        visit.open(f"/venues/{tour.venue.pk}/plan/?level={level}")
        assert visit.complaints == []
        assert not visit.page.locator("#trouble").is_visible(), visit.page.locator("#trouble").inner_text()
        self.settle()

    def settle(self) -> None:
        """Wait until the page says that all is saved and planned, and has painted it."""
        self.page.locator('#editor[aria-busy="false"]').wait_for(state="attached")
        self.page.evaluate("() => new Promise(requestAnimationFrame)")
        assert self.page.locator("#results-state").inner_text() == ""

    def at(self, x_m: float, y_m: float) -> tuple[float, float]:
        """Where a point of the level is in the window."""
        self.page.locator("#draw-map").scroll_into_view_if_needed()
        level = self.visit.box("#draw-map path.level")
        return level["x"] + x_m / 40 * level["width"], level["y"] + (20 - y_m) / 20 * level["height"]

    def click(self, x_m: float, y_m: float) -> None:
        self.page.mouse.click(*self.at(x_m, y_m))

    def drag(self, start: tuple[float, float], end: tuple[float, float]) -> None:
        """Press at one point of the level, let go at another."""
        (x1, y1), (x2, y2) = self.at(*start), self.at(*end)
        self.page.mouse.move(x1, y1)
        self.page.mouse.down()
        self.page.mouse.move((x1 + x2) / 2, (y1 + y2) / 2, steps=4)
        self.page.mouse.move(x2, y2, steps=4)
        self.page.mouse.up()

    def use(self, tool: str) -> None:
        self.page.get_by_role("radio", name=tool, exact=True).check()

    def choose(self, name: str) -> None:
        self.page.locator("#objects").get_by_role("button", name=name, exact=True).click()

    def field(self, label: str):
        return self.page.locator("#object-form").get_by_label(label, exact=True)
