"""A whole tour by script: from nothing to a planned venue, changed, exported and imported again.

PLAN_URL is the service's address, PLAN_TOKEN a token with the scopes read, write and compute (manage.py token).
Needs Python's standard library only.
"""

import json
import os
import sys
import urllib.error
import urllib.request
from typing import Any

ROOT = os.environ.get("PLAN_URL", "http://127.0.0.1:8000").rstrip("/") + "/api/v1/"
TOKEN = os.environ.get("PLAN_TOKEN", "")


def call(method: str, path: str, body: Any = None, **headers: str) -> tuple[Any, Any]:
    """One call; returns (JSON of the answer, its headers). A refusal ends the script with what was wrong."""
    headers |= {"Authorization": f"Bearer {TOKEN}", "Content-Type": "application/json"}
    data = None if body is None else json.dumps(body).encode()
    request = urllib.request.Request(ROOT + path, data, {k.replace("_", "-"): v for k, v in headers.items()})
    request.method = method
    try:
        with urllib.request.urlopen(request, timeout=60) as answer:
            return json.load(answer), answer.headers
    except urllib.error.HTTPError as refusal:
        with refusal:
            problem = json.load(refusal)
        faults = [f"  {fault.get('pointer', '')} {fault['detail']}" for fault in problem.get("errors", [])]
        sys.exit("\n".join([f"{method} {path}: {refusal.code}: {problem['detail']}", *faults]))


def create(path: str, **fields: Any) -> str:
    """One new record; returns its identifier."""
    return call("POST", path, fields)[0]["id"]


def create_many(path: str, rows: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """All rows or none, in one call; returns the new records."""
    answer, _ = call("POST", f"{path}bulk/?report=rows", {"create": rows})
    return [row["record"] for row in answer["rows"]]


def readiness_of(venue: str) -> str:
    """The seven answers of a venue, printed; returns the fingerprint of what was planned."""
    plan, _ = call("GET", f"venues/{venue}/readiness/")
    for answer in plan["answers"]:
        print(f"  {answer['title']}: {answer['in_words']}")
    return plan["fingerprint"]


# A project, and in it a venue: one level of 30 x 20 m with six walls.
project = create("projects/", name="Lanterns by script")
kit = f"projects/{project}/"
hall = {"region": "us", "environment": "theatre-hall", "path_loss_exponent": 2.2}
venue = create(f"{kit}venues/", name="Village hall", **hall)
place = f"venues/{venue}/"
level = create(f"{place}levels/", name="Floor", clear_height_m=5.0, width_m=30.0, depth_m=20.0)
corners = [((0, 0), (30, 0)), ((30, 0), (30, 20)), ((30, 20), (0, 20)), ((0, 20), (0, 0))]
stage = [((20, 0), (20, 7)), ((20, 13), (20, 20))]
create_many(
    f"{place}walls/",
    [
        {"label": f"W{number}", "level": level, "start_x_m": x0, "start_y_m": y0, "end_x_m": x1, "end_y_m": y1}
        | {"height_m": 5.0, "material": "brick-200"}
        for number, ((x0, y0), (x1, y1)) in enumerate(corners + stage, start=1)
    ],
)

# The kit: one type of node, one network, a gateway and twenty receivers, each with its place.
radio = {"phy": "oqpsk-2450", "transmit_power_dbm": 3.0, "sensitivity_dbm": -97.0}
node_type = create(f"{kit}node-types/", name="Pocket", outputs=4, **radio)
network = create(f"{kit}networks/", name="Show", phy="oqpsk-2450", radio_channel=25, pan_id=7)
common = {"node_type": node_type, "network": network}
receivers = [{"label": f"R{n:02}", "role": "receiver", "short_address": n, **common} for n in range(1, 21)]
nodes = create_many(f"{kit}nodes/", [{"label": "G", "role": "gateway", "short_address": 0, **common}, *receivers])
places = [
    {"node": node["id"], "level": level, "x_m": 2.0 + 6.5 * (n % 5), "y_m": 2.0 + 3.5 * (n // 5), "height_m": 1.5}
    for n, node in enumerate(nodes)
]
placements = create_many(f"{place}placements/", places)
print(f"made a project with {len(nodes)} nodes in one venue")
readiness_of(venue)

# Move one node, but only if nobody moved it since we looked: the ETag says which version we saw.
address = f"{place}placements/{placements[7]['id']}/"
_, headers = call("GET", address)
moved, _ = call("PATCH", address, {"x_m": 28.0, "y_m": 18.0}, If_Match=headers["ETag"])
print(f"moved node {nodes[7]['label']} to ({moved['x_m']}, {moved['y_m']}) m; planned again:")
before = readiness_of(venue)

# Export it and import it again: another project, the same plan.
document, headers = call("GET", f"{kit}export/")
print(f"exported it, SHA-256 {headers['Showplan-SHA256']}")
copy, _ = call("POST", "projects/import/", document)
listed, _ = call("GET", f"projects/{copy['id']}/venues/")
print(f"imported it as project {copy['id']}:")
after = readiness_of(listed["items"][0]["id"])
if after != before:
    sys.exit(f"the imported venue is another one: {after} instead of {before}")
print(f"the same fingerprint before and after: {after}")
