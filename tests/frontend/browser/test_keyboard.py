"""A tour entered by hand with the keyboard alone: from an empty service to readiness, and out and in again."""

from pathlib import Path

import pytest

from showplan.records.models import Node, Placement, Project, Wall
from showplan.services.exchange import project_document
from tests.conftest import PASSWORD

pytestmark = [pytest.mark.browser, pytest.mark.django_db(transaction=True)]

# Ends of the walls of the hall (m), and where its twenty receivers stand.
WALLS = (
    ("15", "0", "15", "12"),
    ("25", "8", "25", "20"),
    ("0", "14", "10", "14"),
    ("30", "6", "40", "6"),
    ("5", "4", "12", "4"),
    ("28", "14", "36", "14"),
)
SPOTS = [(2 + 7.5 * (n % 5), 2 + 4.5 * (n // 5)) for n in range(20)]


class Keys:
    """A person with a keyboard and no mouse."""

    def __init__(self, visit):
        self.visit, self.page = visit, visit.page

    def to(self, role: str, name: str) -> None:
        """Press Tab until the focus is on the element, as often as the page has elements."""
        found = self.page.get_by_role(role, name=name, exact=True).first
        found.wait_for()
        wanted = found.element_handle()  # sought once: to seek a role in the whole page takes longer than a key
        for _ in range(200):
            if wanted.evaluate("(element) => element === document.activeElement"):
                return
            self.page.keyboard.press("Tab")
        raise AssertionError(f"no key leads to the {role} {name!r} on {self.page.url}")

    def press(self, role: str, name: str) -> None:
        """Go to a link or button and press Enter; wait for the next page."""
        self.to(role, name)
        with self.page.expect_navigation(wait_until="load"):
            self.page.keyboard.press("Enter")

    def fill(self, **fields: str) -> None:
        """Type into the form's fields, which are met in order; a select takes the letters of its option."""
        for name, value in fields.items():
            self.to_field(name)
            if self.page.evaluate("document.activeElement.tagName") == "INPUT":
                self.page.keyboard.press("Control+a")
            self.page.keyboard.type(value)

    def save(self, **fields: str) -> None:
        """Fill in and send with the button."""
        self.fill(**fields)
        self.press("button", "Save")
        assert self.page.get_by_role("alert").count() == 0, self.page.get_by_role("main").inner_text()

    def give(self, name: str, path: Path) -> None:
        """Open the file field with the space bar and choose a file."""
        self.to_field(name)
        with self.page.expect_file_chooser() as chooser:
            self.page.keyboard.press("Space")
        chooser.value.set_files(path)

    def to_field(self, name: str) -> None:
        """Press Tab until the focus is in the field of that name."""
        for _ in range(200):
            if self.page.evaluate("document.activeElement.name") == name:
                return
            self.page.keyboard.press("Tab")
        raise AssertionError(f"no key leads to the field {name} on {self.page.url}")

    def download(self, link: str, path: Path) -> Path:
        """Go to the link, press Enter and keep the file that comes."""
        self.to("link", link)
        with self.page.expect_download() as coming:
            self.page.keyboard.press("Enter")
        coming.value.save_as(path)
        return path

    def open_lists(self) -> None:
        """Open the lists of a venue's page, which are folded there."""
        for _ in range(200):
            if self.page.evaluate("document.activeElement.tagName") == "SUMMARY":
                break
            self.page.keyboard.press("Tab")
        self.page.keyboard.press("Enter")


def test_a_whole_plan_by_keyboard_alone(visit_with, owner, tmp_path):
    visit = visit_with("wide")
    keys = Keys(visit)
    visit.open("/sign-in/")
    keys.fill(username=owner.username, password=PASSWORD)
    keys.press("button", "Sign in")
    keys.press("link", "New project")
    keys.fill(name="Harbour play")
    keys.press("button", "Start the project")
    keys.press("link", "New venue")
    keys.save(name="Corn hall", region="United St", environment="theatre", path_loss_exponent="2.2")
    keys.press("link", "Open Corn hall")
    _enter_hall(keys)
    _enter_kit(keys, tmp_path)
    _place_everything(keys)
    visit.refuse_faults("placements")
    _move_one(keys)
    keys.press("link", "Harbour play")
    visit.picture("readiness")
    visit.refuse_faults("readiness")
    project = Project.objects.get(name="Harbour play")
    assert Placement.objects.filter(venue__project=project).count() == 21
    assert visit.page.get_by_role("table").get_by_text("Corn hall").is_visible()
    assert visit.page.get_by_role("columnheader", name="Does every node hear the show?").is_visible()
    _out_and_in(keys, tmp_path)
    again = project_document(Project.objects.get(name="Second night"))
    assert {**again, "project": None} == {**project_document(project), "project": None}


def _enter_hall(keys: Keys) -> None:
    keys.open_lists()
    keys.press("link", "levels")
    keys.press("link", "New level")
    keys.save(name="Hall", clear_height_m="6", width_m="40", depth_m="20")
    keys.press("link", "walls")
    for n, (start_x, start_y, end_x, end_y) in enumerate(WALLS, start=1):
        keys.press("link", "New wall")
        ends = {"start_x_m": start_x, "start_y_m": start_y, "end_x_m": end_x, "end_y_m": end_y}
        keys.save(label=f"W{n}", level="Hall", **ends, height_m="4", material="brick")
    assert Wall.objects.count() == len(WALLS)


def _enter_kit(keys: Keys, folder: Path) -> None:
    keys.press("link", "node types")
    keys.press("link", "New node type")
    keys.save(name="Pocket", phy="802.15.4 O", transmit_power_dbm="3", sensitivity_dbm="-97", outputs="4")
    keys.press("link", "networks")
    keys.press("link", "New network")
    keys.save(name="Show", phy="802.15.4 O", radio_channel="25", pan_id="7")
    keys.press("link", "nodes")
    keys.press("link", "New node")
    keys.save(label="N0", role="gateway", node_type="Pocket", network="Show", short_address="0")
    table = folder / "nodes.csv"
    lines = [f"N{n},receiver,Pocket,Show,{n}" for n in range(1, 21)]
    table.write_text("\n".join(["label,role,node_type,network,short_address", *lines]) + "\n")
    keys.press("link", "files")
    keys.give("table-file", table)
    keys.fill(**{"table-kind": "nodes"})
    keys.to_field("table-dry_run")
    keys.page.keyboard.press("Space")
    keys.press("button", "Read the table")
    assert keys.page.get_by_text("was read in: 20 new").is_visible(), keys.page.get_by_role("main").inner_text()
    assert Node.objects.count() == 21


def _place_everything(keys: Keys) -> None:
    keys.press("link", "venues")
    keys.press("link", "Open Corn hall")
    keys.open_lists()
    keys.press("link", "placements")
    for n, (x_m, y_m) in enumerate([(20, 10), *SPOTS]):
        keys.press("link", "New placement")
        keys.save(node=f"N{n}", level="Hall", x_m=str(x_m), y_m=str(y_m), height_m="2")


def _move_one(keys: Keys) -> None:
    moved = Placement.objects.get(node__label="N7")
    keys.to("link", "Change N7")
    keys.page.keyboard.press("Enter")
    keys.page.get_by_role("button", name="Save").wait_for()
    keys.visit.wait_for_focus("textContent", "Change placement N7")
    keys.fill(x_m="19")
    keys.to("button", "Save")
    keys.page.keyboard.press("Enter")
    keys.page.get_by_role("button", name="Save").wait_for(state="detached")
    moved.refresh_from_db()
    assert moved.x_m == 19


def _out_and_in(keys: Keys, folder: Path) -> None:
    keys.press("link", "files")
    taken = keys.download("The whole project (JSON)", folder / "harbour-play.json")
    keys.press("link", "Projects")
    keys.press("link", "Read in a project from a file")
    keys.give("file", taken)
    keys.fill(name="Second night")
    keys.press("button", "Read it in")
    assert keys.page.get_by_role("heading", name="Second night").is_visible()
