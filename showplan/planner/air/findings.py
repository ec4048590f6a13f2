"""Does the data fit? Findings on rate, feed, slots, losses and latency of each network."""

from collections.abc import Iterator

from showplan.planner.air.fault_findings import buffers, by_timeline, clock, relays_in_the_dark, slots
from showplan.planner.air.results import NetworkAir, NodeAir
from showplan.planner.air.words import LATE_MS, LATE_SOURCE, about, listed
from showplan.planner.analysis import Analysis
from showplan.planner.findings import Finding, Quantity
from showplan.planner.hearing import DELIVERY_WANTED
from showplan.planner.scene import Scene

RATE_FORMULAS = ("frame_air_time_ms", "mean_access_ms", "exchange_time_ms", "packets_per_frame")


def air_findings(analysis: Analysis) -> Iterator[Finding]:
    """All findings on 'does the data fit?', network by network."""
    for air in analysis.air.values():
        if not air.slots:
            yield _nothing_to_send(air)
            continue
        if all(node.role != "gateway" for node in air.nodes):
            yield about(
                air,
                "no-gateway-for-data",
                "warn",
                f"{air.network} has no gateway here: none of its slots is sent.",
                "Place one.",
            )
            continue
        yield from _rate(air)
        yield from by_timeline(air)
        yield _stream(air)
        yield from slots(analysis.scene, air)
        yield from clock(air)
        yield from buffers(air)
        yield from relays_in_the_dark(air)
        yield from _contention(air)
        yield from _losses(air)
        yield from _latency(air)
        yield from _stale(analysis.scene, air)


def _nothing_to_send(air: NetworkAir) -> Finding:
    return about(air, "no-slots", "note", f"No output of {air.network} here uses a slot: there is nothing to send.")


def _rate(air: NetworkAir) -> Iterator[Finding]:
    wanted, got = f"{air.wanted_hz:g} frames a second", f"{air.refresh_hz:.3g}"
    quantities = (
        Quantity("wanted", air.wanted_hz, "Hz"),
        Quantity("fits", air.refresh_hz, "Hz"),
        Quantity("packets", air.packets, "a frame"),
        Quantity("air time", air.air_time_ms, "ms a frame"),
        Quantity("channel time", air.cycle_ms, "ms a frame"),
        Quantity("radio channel in use", 100 * air.channel_utilisation, "%"),
    )
    if air.packet_levels <= 0:
        yield about(
            air,
            "payload-over-limit",
            "stop",
            f"{air.network}: headers fill the whole packet of {air.phy}; not one level fits in.",
            "Use short addresses, a shorter header or less security, or another PHY.",
            formulas=("mac_header_octets", "payload_limit_octets"),
        )
    elif air.fits:
        sentence = f"{air.network} carries {air.slots} slots {wanted}; {got} would fit. Tightest: {air.limit.reason}."
        yield about(air, "data-fits", "note", sentence, "", quantities, RATE_FORMULAS)
    elif air.limit.name == "duty":
        yield _over_duty(air, quantities)
    else:
        sentence = f"{air.network} wants {air.slots} slots {wanted}; {got} fit. What holds it down: {air.limit.reason}."
        yield about(air, "does-not-fit", "stop", sentence, _remedy(air), quantities, RATE_FORMULAS)


def _over_duty(air: NetworkAir, quantities: tuple[Quantity, ...]) -> Finding:
    node = max((n for n in air.nodes if n.sending_limit < 1), key=lambda n: n.sending_share / n.sending_limit)
    needed = node.sending_share * air.wanted_hz / air.sent_hz if air.sent_hz else 0.0
    sentence = (
        f"{air.network}: at {air.wanted_hz:g} frames a second {node.label} would send {needed:.2%} of the time;"
        f" the region allows {100 * node.sending_limit:.3g} %, {air.refresh_hz:.3g} frames a second."
    )
    return about(
        air,
        "duty-exceeded",
        "stop",
        sentence,
        "A live stream does not fit this band: use one without a duty limit, or send cues only. The regulator decides.",
        (*quantities, Quantity("would send", 100 * needed, "%"), Quantity("may send", 100 * node.sending_limit, "%")),
        ("sending_share", "frames_per_second"),
    )


def _remedy(air: NetworkAir) -> str:
    match air.limit.name:
        case "feed":
            return "Carry fewer slots in the feed, or use a faster line."
        case "buffer":
            return "Give the gateway a larger buffer, or a feed with pauses."
        case _:
            return "Share packets among nodes, let fewer relays repeat, send changes only, or split the network."


def _stream(air: NetworkAir) -> Finding:
    """Whether the radio could forward the line as it comes; a gateway that packs the used slots need not."""
    share = air.sustained_octets_per_s / air.stream_octets_per_s
    fits = "fits" if share >= 1.5 else "barely fits" if share >= 1 else "does not fit"
    sentence = (
        f"The whole line, {air.stream_octets_per_s:,.0f} octets a second, {fits} through {air.phy}:"
        f" {air.sustained_octets_per_s:,.0f} octets a second go out without relays, {share:.2f} times as much."
    )
    remedy = "" if share >= 1 else "Let the gateway take the slots in use out of the stream and send those only."
    return about(
        air,
        "whole-line-forwarded",
        "warn" if share < 1 and air.is_feed_entered else "note",
        sentence,
        remedy,
        (
            Quantity("comes in", air.stream_octets_per_s, "octets/s"),
            Quantity("goes out at most", air.sustained_octets_per_s, "octets/s"),
        ),
        ("serial_octets_per_s", "exchange_time_ms"),
    )


def _contention(air: NetworkAir) -> Iterator[Finding]:
    found = air.contention
    in_use = Quantity("radio channel in use", 100 * found.utilisation, "%")
    if not found.is_valid:
        sentence = (
            f"{air.network}: the senders on its radio channel fill {found.utilisation:.0%} of the time;"
            " above 45 % losses by contention cannot be estimated and are worse than said here."
        )
        remedy = "Take another radio channel, or send less: rate, copies, relays."
        yield about(air, "contention-unknown", "warn", sentence, remedy, (in_use,), ("contended_delivery",))
    elif found.is_rough:
        sentence = (
            f"{air.network}: the senders on its radio channel fill {found.utilisation:.0%} of the time; above 20 % the"
            f" share that gets through contention is a rough estimate, up to {found.stated_error:.1%} too high."
        )
        remedy = "Simulate the packets for a figure with its interval."
        error = Quantity("delivery too high by up to", 100 * found.stated_error, "%")
        yield about(air, "contention-rough", "note", sentence, remedy, (in_use, error), ("contended_delivery",))


def _losses(air: NetworkAir) -> Iterator[Finding]:
    missed = sorted((n.delivery, n.label) for n in air.served if 0 < n.delivery < DELIVERY_WANTED)
    if missed:
        worst, label = missed[0]
        who = listed([label for _, label in missed])
        sentence = (
            f"{air.network}: fewer than {DELIVERY_WANTED:.0%} of the frames reach {who}; worst: {label}, {worst:.0%}."
        )
        remedy = "Send copies, let relays repeat with more jitter, or raise the margin of these nodes."
        quantities = (Quantity("nodes", len(missed), ""), Quantity("worst delivery", 100 * worst, "%"))
        yield about(
            air, "frames-lost", "warn", sentence, remedy, quantities, ("delivery_with_retries", "jittered_relays_clear")
        )


def _latency(air: NetworkAir) -> Iterator[Finding]:
    late = sorted(
        ((n.latency.p95_ms, n.label) for n in air.served if n.latency and n.latency.p95_ms > LATE_MS), reverse=True
    )
    if late:
        worst_ms, label = late[0]
        most = max(air.where_the_time_goes, key=lambda part: part.mean_ms)
        sentence = (
            f"{air.network}: {listed([label for _, label in late])} may follow a beat more than {LATE_MS:g} ms late;"
            f" {label} takes {worst_ms:.0f} ms or more in one frame of twenty. Most of it: {most.name}."
        )
        yield about(
            air,
            "late",
            "warn",
            sentence,
            "Raise the refresh rate, shorten the feed, or use fewer hops and less jitter.",
            (Quantity("latest", worst_ms, "ms"), Quantity("nodes", len(late), "")),
            ("line_time_ms", "mean_access_ms", "frame_air_time_ms"),
            LATE_SOURCE,
        )


def _stale(scene: Scene, air: NetworkAir) -> Iterator[Finding]:
    acting: list[NodeAir] = []
    holding: list[NodeAir] = []
    for node in air.served:
        if node.longest_stale_s is None or node.signal_losses_per_hour < 1:
            continue
        (holding if scene.node(node.label).on_signal_loss == "hold" else acting).append(node)
    if acting:
        worst = max(acting, key=lambda node: node.signal_losses_per_hour)
        sentence = (
            f"{air.network}: outputs of {listed([n.label for n in acting])} fade or switch off for want of frames once"
            f" an hour or more; {worst.label} {worst.signal_losses_per_hour:.0f} times."
        )
        remedy = "Let these nodes wait longer or hold, or raise their delivery."
        yield about(air, "signal-lost", "warn", sentence, remedy, _stale_numbers(worst), ("lost_runs_per_s",))
    if holding:
        worst = max(holding, key=lambda node: node.longest_stale_s or 0.0)
        sentence = (
            f"{air.network}: once an hour or more old levels stay for longer than their limit on"
            f" {listed([n.label for n in holding])}; longest: {worst.label}, {worst.longest_stale_s:.1f} s."
        )
        yield about(air, "levels-stale", "note", sentence, "", _stale_numbers(worst), ("longest_stale_s",))


def _stale_numbers(node: NodeAir) -> tuple[Quantity, ...]:
    return (
        Quantity("longest without a frame", node.longest_stale_s or 0.0, "s"),
        Quantity("signal lost", node.signal_losses_per_hour, "times an hour"),
    )
