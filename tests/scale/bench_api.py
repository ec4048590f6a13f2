"""How many requests a second the API answers, as a ratio to bare views of the framework over the same rows.

    python -m tests.scale.bench_api [--seconds 3] [--rounds 8]

Run by hand on an idle machine. One gunicorn with two sync workers on loopback serves both; connections to the database
stay open; both sides authenticate by the same bearer token; `wrk` (Debian package of that name) makes the load, ours
and the bare view in turn. First on SQLite, then on a throw-away PostgreSQL. Prints a Markdown table: medians, and the
median, smallest and largest ratio of neighbouring measurements.
"""

import argparse
import json
import os
import re
import shutil
import socket
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from http.client import HTTPConnection
from typing import Any

from tests.throwaway_postgres import throwaway_postgres

NODES = 100
WORKERS = 2
CONNECTIONS = 4
START_LIMIT_S = 30.0
SETTINGS = "tests.scale.bench_settings"


def main() -> None:
    """Measure on both databases and print the table."""
    arguments = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    arguments.add_argument("--seconds", type=int, default=3, help="length of each measurement")
    arguments.add_argument("--rounds", type=int, default=8, help="measurements of each address, in turn")
    given = arguments.parse_args()
    if shutil.which("wrk") is None:
        sys.exit("bench_api: wrk is missing; install the package wrk")
    print("| database | answer | API, requests/s | bare view, requests/s | ratio |\n| --- | --- | --- | --- | --- |")
    with throwaway_postgres() as url:
        for name, database in (("SQLite", ""), ("PostgreSQL", url)):
            for what, pairs in _measured(database, given.seconds, given.rounds):
                ours, bare = (statistics.median(side) for side in zip(*pairs, strict=True))
                ratios = [first / second for first, second in pairs]
                spread = f"{statistics.median(ratios):.0%} ({min(ratios):.0%} to {max(ratios):.0%})"
                print(f"| {name} | {what} | {ours:.0f} | {bare:.0f} | {spread} |", flush=True)


def _measured(database: str, seconds: int, rounds: int) -> Iterator[tuple[str, list[tuple[float, float]]]]:
    """What was asked, and for each round the requests a second of the API and of the bare view."""
    with tempfile.TemporaryDirectory(prefix="showplan-bench-") as folder:
        environment = {name: value for name, value in os.environ.items() if not name.startswith("SHOWPLAN_")}
        environment |= {"SHOWPLAN_DATA": folder, "DJANGO_SETTINGS_MODULE": SETTINGS}
        if database:
            environment["SHOWPLAN_DATABASE_URL"] = database
        for command in (["migrate", "--noinput", "-v0"], ["collectstatic", "--noinput", "-v0"]):
            subprocess.run([sys.executable, "manage.py", *command], env=environment, check=True)
        seeded = subprocess.run(
            [sys.executable, "-c", "from tests.scale.bench_api import seed; seed()"],
            env=environment,
            check=True,
            stdout=subprocess.PIPE,
        )
        made: dict[str, str] = json.loads(seeded.stdout)
        nodes = f"/api/v1/projects/{made['project']}/nodes/"
        with server(environment) as port:
            for what, ours, bare in (
                (f"list of {NODES} nodes", nodes, "/bare/nodes/"),
                ("one node", f"{nodes}{made['node']}/", f"/bare/nodes/{made['node']}/"),
            ):
                _refuse_unlike(port, made["token"], ours, bare)
                yield (
                    what,
                    [
                        (_load(port, made["token"], ours, seconds), _load(port, made["token"], bare, seconds))
                        for _ in range(rounds)
                    ],
                )


def seed() -> None:
    """Make a project of NODES nodes and a token, and print their identifiers; run inside the benchmark's database."""
    import django

    django.setup()
    from showplan.services.tokens import make_token
    from tests.tours import a_kit, a_project, a_user

    owner = a_user("owner")
    project = a_project(owner)
    nodes = a_kit(project, owner, receivers=NODES - 2)
    _, token = make_token(user=owner, name="bench", scopes=("read",), days=1)
    print(json.dumps({"project": str(project.pk), "node": str(nodes[50].pk), "token": token}))


@contextmanager
def server(environment: dict[str, str]) -> Iterator[int]:
    """A gunicorn on a free port of loopback, with the workers that `deploy/run.sh` gives it; the port."""
    with socket.socket() as free:
        free.bind(("127.0.0.1", 0))
        port = int(free.getsockname()[1])
    options = [
        "--workers",
        str(WORKERS),
        "--bind",
        f"127.0.0.1:{port}",
        "--no-control-socket",
        "--log-level",
        "warning",
        "--timeout",
        "120",
    ]
    command = [sys.executable, "-m", "gunicorn", "showplan.wsgi", *options]
    process = subprocess.Popen(command, env=environment)
    try:
        _wait_for(port)
        yield port
    finally:
        process.terminate()
        process.wait(timeout=10)


def _wait_for(port: int) -> None:
    end = time.monotonic() + START_LIMIT_S
    while time.monotonic() < end:
        with socket.socket() as probe:
            if probe.connect_ex(("127.0.0.1", port)) == 0:
                return
        time.sleep(0.1)
    sys.exit(f"bench_api: the server did not start within {START_LIMIT_S:g} s")


def _get(port: int, token: str, path: str) -> Any:
    connection = HTTPConnection("127.0.0.1", port, timeout=30)
    connection.request("GET", path, headers={"Authorization": f"Bearer {token}"})
    answer = connection.getresponse()
    content = answer.read()
    if answer.status != 200:
        sys.exit(f"bench_api: {path} answered {answer.status}: {content[:300]!r}")
    return json.loads(content)


def _refuse_unlike(port: int, token: str, ours: str, bare: str) -> None:
    """Both must answer with the same records, or there is nothing to compare."""
    mine, theirs = _get(port, token, ours), _get(port, token, bare)
    if "items" in mine:
        mine, theirs = (sorted(rows, key=lambda row: row["id"]) for rows in (mine["items"], theirs))
    if mine != theirs:
        sys.exit(f"bench_api: {ours} and {bare} answer with different records")


def _load(port: int, token: str, path: str, seconds: int) -> float:
    """Requests a second under steady load."""
    address, header = f"http://127.0.0.1:{port}{path}", f"Authorization: Bearer {token}"
    command = ["wrk", "-t1", f"-c{CONNECTIONS}", f"-d{seconds}s", "-H", header, address]
    said = subprocess.run(command, check=True, capture_output=True, text=True).stdout
    found = re.search(r"Requests/sec:\s+([\d.]+)", said)
    if found is None or "Non-2xx" in said:
        sys.exit(f"bench_api: wrk says of {path}:\n{said}")
    return float(found[1])


if __name__ == "__main__":
    main()
