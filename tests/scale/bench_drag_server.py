"""What a moved node costs at the server: one PATCH, then new links, routes and answers, as the drawing page asks.

    python -m tests.scale.bench_drag_server [--rounds 30]

Run by hand on an idle machine. The venue of `bench_drag` (100 nodes, 200 walls) in SQLite, served by gunicorn with two
workers as `deploy/run.sh` does. The results are asked for in two ways in turn: the plan in one call, and links, routes
and readiness in three calls at once. Prints a Markdown table of medians.
"""

import argparse
import json
import os
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from http.client import HTTPConnection
from typing import Any

from tests.scale import bench_drag
from tests.scale.bench_api import server

RESULTS = ("readiness", "links", "routes")
TOGETHER = "plan/?include=" + ",".join(RESULTS)
WARM_ROUNDS = 3


@dataclass(frozen=True)
class Client:
    """Calls the API of one venue."""

    port: int
    token: str
    venue: str

    def call(self, method: str, path: str, body: Any = None, **headers: str) -> tuple[Any, str]:
        """The answer's JSON and ETag."""
        connection = HTTPConnection("127.0.0.1", self.port, timeout=60)
        content = None if body is None else json.dumps(body)
        sent = {"Authorization": f"Bearer {self.token}", "Content-Type": "application/json"} | headers
        connection.request(method, f"/api/v1/venues/{self.venue}/{path}", content, sent)
        answer = connection.getresponse()
        said = answer.read()
        if answer.status != 200:
            sys.exit(f"bench_drag_server: {method} {path} answered {answer.status}: {said[:300]!r}")
        return json.loads(said), answer.headers.get("ETag", "")


def main() -> None:
    """Measure and print the table."""
    arguments = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    arguments.add_argument("--rounds", type=int, default=30, help="moves measured in each way")
    given = arguments.parse_args()
    with tempfile.TemporaryDirectory(prefix="showplan-bench-") as folder:
        environment = {name: value for name, value in os.environ.items() if not name.startswith("SHOWPLAN_")}
        environment |= {"SHOWPLAN_DATA": folder, "DJANGO_SETTINGS_MODULE": "showplan.settings"}
        for command in (["migrate", "--noinput", "-v0"], ["collectstatic", "--noinput", "-v0"]):
            subprocess.run([sys.executable, "manage.py", *command], env=environment, check=True)
        seeding = "from tests.scale.bench_drag_server import seed; seed()"
        seeded = subprocess.run([sys.executable, "-c", seeding], env=environment, check=True, stdout=subprocess.PIPE)
        made: dict[str, str] = json.loads(seeded.stdout)
        with server(environment) as port:
            measured = _measured(Client(port, made["token"], made["venue"]), made["placement"], given.rounds)
    whole = {way: statistics.median(patch + results for patch, results in times) for way, times in measured.items()}
    print("| one node moved, answers asked for | move, ms | results, ms | both, ms (median, range) | share |")
    print("| --- | --- | --- | --- | --- |")
    slowest = max(whole.values())
    for way, times in measured.items():
        patch, results = (statistics.median(side) for side in zip(*times, strict=True))
        both = [sum(pair) for pair in times]
        spread = f"{whole[way]:.0f} ({min(both):.0f} to {max(both):.0f})"
        print(f"| {way} | {patch:.0f} | {results:.0f} | {spread} | {whole[way] / slowest:.0%} |")


def _measured(client: Client, placement: str, rounds: int) -> dict[str, list[tuple[float, float]]]:
    """For each way, milliseconds of the move and of the results, round by round."""
    address = f"placements/{placement}/"
    _, tag = client.call("GET", address)
    measured: dict[str, list[tuple[float, float]]] = {}
    with ThreadPoolExecutor(len(RESULTS)) as pool:
        ways: dict[str, Callable[[], Iterable[Any]]] = {
            "in one call": lambda: [client.call("GET", TOGETHER)],
            "in three calls at once": lambda: list(pool.map(lambda name: client.call("GET", f"{name}/"), RESULTS)),
        }
        for step in range(rounds + WARM_ROUNDS):
            for number, (way, ask) in enumerate(ways.items()):
                start = time.perf_counter()
                # Never a place that was planned before: kept plans must not answer.
                moved = {"x_m": 10.0 + 0.2 * step + 0.1 * number}
                _, tag = client.call("PATCH", address, moved, **{"If-Match": tag})
                between = time.perf_counter()
                ask()
                end = time.perf_counter()
                if step >= WARM_ROUNDS:
                    measured.setdefault(way, []).append((1000 * (between - start), 1000 * (end - between)))
    return measured


def seed() -> None:
    """Write the benchmark's venue into its database and print identifiers and a token."""
    import django

    django.setup()
    from showplan.records.models import Level, Network, Node, NodeType, Placement, Venue, Wall, Zone
    from showplan.services.editing import edit
    from showplan.services.tokens import make_token
    from tests.tours import a_project, a_user, by

    scene = bench_drag.venue()
    owner = a_user("owner")
    project = a_project(owner)
    facts, hall, radio, network = scene.venue, scene.levels[0], scene.node_types[0], scene.networks[0]
    with edit(project, by(owner)) as change:
        [venue] = change.create(
            [Venue(project=project, name=facts.name, **_same(facts, "region", "environment", *LOSS))]
        )
        size = _same(hall, "name", "clear_height_m", "width_m", "depth_m", "floor_material")
        [level] = change.create([Level(venue=venue, **size)])
        change.create(
            [Wall(level=level, **_line(wall), **_same(wall, "label", "height_m", "material")) for wall in scene.walls]
        )
        zones = change.create(
            [Zone(level=level, name=zone.name, corners_m=[list(one) for one in zone.corners_m]) for zone in scene.zones]
        )
        [sort] = change.create([NodeType(project=project, name=radio.name, **_same(radio, *RADIO))])
        [net] = change.create([Network(project=project, **_same(network, "name", "phy", "radio_channel", "pan_id"))])
        nodes = change.create(
            [
                Node(
                    project=project,
                    node_type=sort,
                    network=net,
                    **_same(node, "label", "role", "short_address", "is_worn"),
                )
                for node in scene.nodes
            ]
        )
        by_name = {zone.name: zone for zone in zones}
        placements = change.create(
            [
                Placement(venue=venue, node=node, level=level, **_place(planned.placement, by_name))
                for node, planned in zip(nodes, scene.nodes, strict=True)
            ]
        )
    _, token = make_token(user=owner, name="bench", scopes=("read", "write", "compute"), days=1)
    print(json.dumps({"venue": str(venue.pk), "placement": str(placements[3].pk), "token": token}))


LOSS = ("path_loss_exponent", "fade_margin_db")
RADIO = ("phy", "transmit_power_dbm", "antenna_gain_dbi", "cable_loss_db", "sensitivity_dbm", "outputs")


def _same(part: Any, *names: str) -> dict[str, Any]:
    return {name: getattr(part, name) for name in names}


def _line(wall: Any) -> dict[str, float]:
    (start_x_m, start_y_m), (end_x_m, end_y_m) = wall.start_m, wall.end_m
    return {"start_x_m": start_x_m, "start_y_m": start_y_m, "end_x_m": end_x_m, "end_y_m": end_y_m}


def _place(placement: Any, zones: dict[str, Any]) -> dict[str, Any]:
    if placement.zone is not None:
        return {"zone": zones[placement.zone], "height_m": placement.height_m}
    x_m, y_m = placement.position_m
    return {"x_m": x_m, "y_m": y_m, "height_m": placement.height_m}


if __name__ == "__main__":
    main()
