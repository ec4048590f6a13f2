"""The smallest standard change that clears a finding, with its new figure."""

from dataclasses import replace
from typing import Final

from showplan.planner.power import tables
from showplan.planner.power.facts import OutputFacts
from showplan.planner.power.results import ConductorPower
from showplan.planner.power.tape import AffineTape, Tape

MOST_FEEDS: Final = 6


def wire_that_carries(lead: ConductorPower, needed_a: float) -> str:
    """The thinnest standard wire that may carry so much as this lead is laid."""
    factors = lead.ambient_factor * lead.grouping_factor
    for area_mm2 in tables.areas_mm2():
        may_a = tables.cord_ampacity_a(area_mm2) * factors
        if area_mm2 > lead.area_mm2 and may_a >= needed_a:
            return f"{area_mm2:g} mm² carries {may_a:.3g} A so laid"
    return f"no standard lead up to {tables.areas_mm2()[-1]:g} mm² carries that so laid: share it between outputs"


def wire_and_fuse(lead: ConductorPower, fuse_class: str, load_a: float) -> str:
    """A fuse for the load, and the thinnest standard wire from this lead's on that it protects."""
    fuse_a = tables.fuse_for(fuse_class, load_a)
    name = tables.series_of(fuse_class).name
    if fuse_a is None:
        return f"No fuse of its class ({name}) carries {load_a:.3g} A for hours: share the load between outputs."
    needed_a = tables.ampacity_for_fuse_a(fuse_class, fuse_a)
    if lead.ampacity_a >= needed_a:
        return f"Put in {fuse_a:g} A ({name}) at the start of the {lead.name}."
    thicker = wire_that_carries(lead, needed_a)
    return f"Put in {fuse_a:g} A ({name}) and lay a thicker {lead.name}: {thicker}."


def wire_for_drop(lead: ConductorPower, drop_v: float, supply_v: float, limit_percent: float) -> str:
    """The thinnest standard wire with which the whole drop is within the limit."""
    others_v = drop_v - lead.drop_v
    if 100 * others_v / supply_v < limit_percent:
        for area_mm2 in tables.areas_mm2():
            if area_mm2 <= lead.area_mm2:
                continue
            ohm = lead.length_m * tables.loop_ohm_per_m(area_mm2, lead.conductor_c)
            percent = 100 * (others_v + lead.drop_v * ohm / lead.ohm) / supply_v
            if percent <= limit_percent:
                return f"A lead of {area_mm2:g} mm² brings it to {percent:.1f} %"
    share = limit_percent / (100 * drop_v / supply_v)
    return f"No thicker lead alone does it: shorten what leads there, or take {100 * (1 - share):.0f} % off the load"


def more_feeds(out: OutputFacts, wanted: float) -> str:
    """The fewest feeds of a tape with which its darkest point keeps so much of the brightest one's light."""
    assert out.tape is not None  # only tapes fall off
    length = out.tape.length_m
    for feeds in range(2, MOST_FEEDS + 1):
        places = (0.0, length) if feeds == 2 else tuple(length * i / (feeds - 1) for i in range(feeds))
        if len(places) <= len(out.tape.points_m):
            continue
        evenness = _evenness(out, replace(out.tape, points_m=places))
        if evenness >= wanted:
            where = "Feed both ends" if feeds == 2 else f"Feed it at {feeds} points, both ends among them"
            return f"{where}: the darkest point keeps {100 * evenness:.0f} % of the brightest"
    return f"Cut it into pieces with a cable each: even {MOST_FEEDS} feeds leave it uneven"


def _evenness(out: OutputFacts, tape: Tape) -> float:
    affine = AffineTape(tape, out.siemens / tape.length_m, out.dark_v)
    return affine.profile.least_v / max(affine.at_points[0])


def bigger_pack(capacity_ah: float, share: float, reserve: float) -> str:
    """The capacity with which a part of the day that takes `share` of a pack fits into one."""
    needed_ah = capacity_ah * share / (1 - reserve)
    return f"a pack of {needed_ah:.1f} Ah lasts through it (of {capacity_ah:g} Ah now)"
