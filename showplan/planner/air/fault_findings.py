"""Findings on what is set up wrongly: slots, the clock of the line, buffers, relays that do not hear each other."""

from collections.abc import Iterator

from showplan.physics.feeds import fastest_baud_percent, slowest_baud_percent
from showplan.planner.air.results import NetworkAir
from showplan.planner.air.slots import slot_use
from showplan.planner.air.words import about, listed
from showplan.planner.findings import Finding, Quantity
from showplan.planner.scene import Scene

SAMPLES = 16  # of each bit, in most receivers
# Error of a line's rate that a receiver's maker recommends to stay within, by data and parity bits; read in its table.
RECOMMENDED_PERCENT = {8: 2.0}
RECOMMENDED_LONG_PERCENT = 1.5


def slots(scene: Scene, air: NetworkAir) -> Iterator[Finding]:
    """Slots that the feed does not carry, that nobody uses, and outputs without one."""
    use = slot_use(scene, [scene.node(node.label) for node in air.nodes])
    if not use.is_assumed and air.is_feed_entered:
        beyond = sorted(slot for slot in use.used if isinstance(slot, int) and slot > air.feed.slots)
        if beyond:
            yield about(
                air,
                "slots-beyond-feed",
                "stop",
                f"{air.network}: {len(beyond)} slots in use lie beyond the {air.feed.slots} that the feed carries:"
                f" {listed([str(slot) for slot in beyond])}.",
                f"Give the feed {beyond[-1]} slots, or give these outputs lower ones.",
                (Quantity("highest slot", beyond[-1], ""), Quantity("feed", air.feed.slots, "slots")),
            )
        idle = air.feed.slots - len(use.used) + len(beyond)
        if idle > 0:
            yield about(
                air,
                "slots-unused",
                "note",
                f"{air.network}: {idle} of the feed's {air.feed.slots} slots go to no output here; they cost time on"
                " the line, not on the air.",
                quantities=(Quantity("unused", idle, "slots"),),
            )
    if use.without:
        yield about(
            air,
            "outputs-without-slots",
            "warn",
            f"{air.network}: no slot reaches {listed(use.without)}.",
            "Give each load a slot, or take it out.",
            (Quantity("loads", len(use.without), ""),),
        )


def by_timeline(air: NetworkAir) -> Iterator[Finding]:
    """What a timeline makes of the load, or that it has nothing to do with this network."""
    load = air.timeline
    if load is None:
        return
    if not load.slots:
        yield about(
            air,
            "timeline-elsewhere",
            "warn",
            f"{air.network}: timeline {load.timeline} gives a level to none of the slots in use here; nothing would"
            " ever change.",
            "Name another timeline, or give its rows the slots of these loads.",
        )
        return
    changes = load.changes
    minutes, seconds = divmod(changes.peak_at_s, 60)
    yield about(
        air,
        "busiest-second",
        "note",
        f"{air.network} by timeline {load.timeline}: in the busiest second, from {minutes:.0f}:{seconds:02.0f} on,"
        f" {changes.peak:.1%} of the levels change from frame to frame and a frame takes {air.packets:.3g} packets;"
        f" as a mean {changes.mean:.1%} and {load.mean_packets:.3g}. The plan counts with the busiest second.",
        quantities=(
            Quantity("busiest second", 100 * changes.peak, "% of the levels"),
            Quantity("95 % of the seconds", 100 * changes.p95, "% of the levels"),
            Quantity("mean", 100 * changes.mean, "% of the levels"),
            Quantity("largest cue", 100 * changes.largest, "% of the levels"),
            Quantity("packets in the busiest second", air.packets, "a frame"),
            Quantity("packets as a mean", load.mean_packets, "a frame"),
            Quantity("air time in the busiest second", air.air_time_ms, "ms a frame"),
            Quantity("air time as a mean", load.mean_air_time_ms, "ms a frame"),
        ),
        formulas=("packets_per_frame",),
    )


def clock(air: NetworkAir) -> Iterator[Finding]:
    """A serial line whose rate is off by more than its receiver bears."""
    feed = air.feed
    error = feed.clock_error_percent
    if feed.kind != "serial" or error == 0:
        return
    bits = feed.data_bits + (feed.parity != "none")
    slow = float(slowest_baud_percent(bits, SAMPLES)) - 100
    fast = float(fastest_baud_percent(bits, SAMPLES)) - 100
    advised = RECOMMENDED_PERCENT.get(bits, RECOMMENDED_LONG_PERCENT)
    if abs(error) <= advised:
        return
    fails = not slow < error < fast
    limits = f"{slow:.2f} to +{fast:.2f} %" if fails else f"{advised:g} % either way"
    yield about(
        air,
        "baud-error",
        "stop" if fails else "warn",
        f"{air.network}: the line's rate is off by {error:+.2f} %; "
        + (f"octets are misread outside {limits}." if fails else f"{limits} are recommended."),
        "Choose a rate or a clock that divide evenly.",
        (Quantity("error", error, "%"), Quantity("recommended", advised, "%")),
        ("slowest_baud_percent", "fastest_baud_percent", "divider_error_percent"),
        "A chip maker's page on the error tolerance of its receiver, 16 samples a bit",
    )


def buffers(air: NetworkAir) -> Iterator[Finding]:
    """Buffers that run over while their radio waits for the channel."""
    over = sorted((n.buffer_headroom_octets, n.label) for n in air.nodes if n.buffer_headroom_octets < 0)
    if over:
        least, label = over[0]
        worst = air.node(label)
        yield about(
            air,
            "buffer-overflow",
            "warn",
            f"{air.network}: {label} needs {worst.buffer_needed_octets:.0f} octets of buffer through the longest"
            f" channel access and has {worst.buffer_octets}; {-least:.0f} would be lost. Short of buffer: {len(over)}.",
            "Enlarge the buffer, slow the line, or allow fewer backoffs.",
            (Quantity("needed", worst.buffer_needed_octets, "octets"), Quantity("has", worst.buffer_octets, "octets")),
            ("longest_access_ms", "line_time_ms"),
        )


def relays_in_the_dark(air: NetworkAir) -> Iterator[Finding]:
    """Relays that repeat at once without hearing each other."""
    traffic = air.traffic
    if traffic.relaying != "repeated" or not air.hidden_relays or traffic.jitter_ms > 0:
        return
    pairs = [f"{a} and {b}" for a, b in air.hidden_relays]
    yield about(
        air,
        "hidden-relays",
        "warn",
        f"{air.network}: {listed(pairs)} repeat without a jitter and do not hear each other; where both are heard"
        f" only {air.relay_clear:.0%} of the copies survive.",
        "Give the relays a jitter of ten packets' air time or more, or relay by route.",
        (Quantity("clear copies", 100 * air.relay_clear, "%"), Quantity("pairs", len(pairs), "")),
        ("hidden_relays_clear", "jittered_relays_clear"),
    )
