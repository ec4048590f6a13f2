"""Does every node hear the show? Findings on placement, routes, margins and single points of failure."""

from collections.abc import Iterator, Mapping

import numpy as np

from showplan.planner.analysis import Analysis
from showplan.planner.findings import Finding, Quantity, Subject
from showplan.planner.links import LINK_FORMULAS, Link
from showplan.planner.path_loss import model_of, outside_ranges
from showplan.planner.routes import Route
from showplan.planner.scene import Node

QUESTION = "heard"
# dB above the fade margin below which a route is called thin. Common practice, no source.
THIN_MARGIN_DB = 3.0
# Share of packets sent once that should arrive. Common practice, no source.
DELIVERY_WANTED = 0.9


def hearing_findings(analysis: Analysis) -> Iterator[Finding]:
    """All findings on 'does every node hear the show?'."""
    yield from _not_placed(analysis)
    yield from _without_network(analysis)
    yield from _gateways(analysis)
    yield from _model_ranges(analysis)
    yield from _routes(analysis)
    yield from _single_points(analysis)


def _about(node: Node) -> Subject:
    return Subject("node", node.label)


def _not_placed(analysis: Analysis) -> Iterator[Finding]:
    for node in analysis.scene.nodes:
        if node.placement is None:
            yield Finding(
                code="node-not-placed",
                question=QUESTION,
                severity="note",
                subject=_about(node),
                sentence=f"{node.label} has no place in this venue.",
                remedy="Place it, or leave it in the truck here.",
            )


def _without_network(analysis: Analysis) -> Iterator[Finding]:
    for node in analysis.scene.placed_nodes():
        if node.network is None:
            yield Finding(
                code="node-without-network",
                question=QUESTION,
                severity="stop",
                subject=_about(node),
                sentence=f"{node.label} is placed here but belongs to no network.",
                remedy="Give it a network and a short address.",
            )


def _gateways(analysis: Analysis) -> Iterator[Finding]:
    for name, links in analysis.links.items():
        if links.labels and "gateway" not in links.roles:
            yield Finding(
                code="no-gateway",
                question=QUESTION,
                severity="stop",
                subject=Subject("network", name),
                sentence=f"Network {name} has {len(links.labels)} nodes here and no gateway.",
                remedy="Place a gateway of this network.",
                quantities=(Quantity("nodes", len(links.labels), ""),),
            )


def _routes(analysis: Analysis) -> Iterator[Finding]:
    for name, links in analysis.links.items():
        if "gateway" not in links.roles:
            continue
        routes = analysis.routes[name]
        for label in links.labels:
            node = analysis.scene.node(label)
            if label not in routes:
                yield _not_heard(node, links.best_into(label))
            elif routes[label].margin_db < THIN_MARGIN_DB:
                margin_db = routes[label].margin_db
                yield Finding(
                    code="thin-margin",
                    question=QUESTION,
                    severity="warn",
                    subject=_about(node),
                    sentence=f"{label} is heard by way of {' - '.join(routes[label].nodes)},"
                    f" only {margin_db:.1f} dB above the fade margin.",
                    remedy="Raise or turn the antenna, move the sender nearer, or place a relay between.",
                    quantities=(Quantity("margin", margin_db, "dB"),),
                    formulas=LINK_FORMULAS,
                )
        yield from _often_missed(name, routes)


def _often_missed(network: str, routes: Mapping[str, Route]) -> Iterator[Finding]:
    """One finding for a network: the nodes that miss too many packets sent once, the worst first."""
    missed = sorted((route.delivery, label) for label, route in routes.items() if route.delivery < DELIVERY_WANTED)
    if not missed:
        return
    worst, label = missed[0]
    who = _listed(tuple(label for _, label in missed))
    yield Finding(
        code="delivery-low",
        question=QUESTION,
        severity="warn",
        subject=Subject("network", network),
        sentence=f"Of packets sent once, fewer than {DELIVERY_WANTED:.0%} reach: {who}. Worst: {label}, {worst:.0%}.",
        remedy="Choose a quieter radio channel, send each frame again, raise the margin, or place a relay nearer.",
        quantities=(Quantity("nodes", len(missed), ""), Quantity("worst delivery", 100 * worst, "%")),
        formulas=("availability", *LINK_FORMULAS),
    )


def _model_ranges(analysis: Analysis) -> Iterator[Finding]:
    for name, links in analysis.links.items():
        furthest_m = float(np.nanmax(links.distance_m)) if np.isfinite(links.distance_m).any() else 0.0
        for number, sentence in enumerate(outside_ranges(analysis.scene.venue, links.frequency_mhz, furthest_m), 1):
            yield Finding(
                code=f"model-outside-range-{number}",
                question=QUESTION,
                severity="note",
                subject=Subject("network", name),
                sentence=sentence,
                remedy="Choose another path-loss model, or measure: a walk test decides.",
                formulas=(model_of(analysis.scene.venue).formula,),
            )


def _not_heard(node: Node, best: Link | None) -> Finding:
    subject = _about(node)
    if best is None:
        return Finding(
            code="node-not-heard",
            question=QUESTION,
            severity="stop",
            subject=subject,
            sentence=f"{node.label} has no gateway or relay of its network here.",
            remedy="Place a gateway or relay of its network.",
        )
    if best.is_usable:
        sentence = f"{node.label} hears {best.transmitter}, which itself has no route from a gateway."
        remedy = f"Connect {best.transmitter} first: see its own finding."
    else:
        short_db = -best.margin_db
        sentence = (
            f"{node.label} misses the fade margin by {short_db:.1f} dB on its best link, from {best.transmitter}."
        )
        remedy = "Place a relay between, move the sender nearer, or find a way round the wall."
    return Finding(
        code="node-not-heard",
        question=QUESTION,
        severity="stop",
        subject=subject,
        sentence=sentence,
        remedy=remedy,
        quantities=(
            Quantity("margin", best.margin_db, "dB"),
            Quantity("received", best.received_dbm, "dBm"),
            Quantity("distance", best.distance_m, "m"),
            Quantity("path loss", best.path_loss_db, "dB"),
        ),
        formulas=LINK_FORMULAS,
    )


def _single_points(analysis: Analysis) -> Iterator[Finding]:
    for name, points in analysis.single_points.items():
        for point in points:
            lost = " - ".join(point.lost)
            dark = _listed(point.dark)
            if point.is_link:
                if point.dark == point.lost[1:]:
                    continue  # only its own far end hangs on it: that node's route says so already
                code, severity, kind = "single-link", "note", "link"
                remedy = "A relay on another way round would remove the dependence."
            elif analysis.scene.node(point.lost[0]).role == "gateway":
                code, severity, kind = "single-gateway", "note", "node"
                remedy = "Carry a spare gateway, set up and labelled."
            else:
                code, severity, kind = "single-relay", "warn", "node"
                remedy = "Place a second relay that serves the same nodes, or carry a spare on stand-by."
            yield Finding(
                code=code,
                question=QUESTION,
                severity=severity,  # type: ignore[arg-type]
                subject=Subject(kind, lost),
                sentence=f"In network {name}, without {lost} these go dark: {dark}.",
                remedy=remedy,
                quantities=(Quantity("nodes dark", len(point.dark), ""),),
            )


def _listed(labels: tuple[str, ...], most: int = 6) -> str:
    return ", ".join(labels[:most]) + (f" and {len(labels) - most} more" if len(labels) > most else "")
