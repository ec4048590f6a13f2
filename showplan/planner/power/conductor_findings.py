"""Findings on conductors, fuses and voltage drop."""

from collections.abc import Iterator

from showplan.planner.findings import Finding, Quantity
from showplan.planner.power import tables
from showplan.planner.power.advice import wire_and_fuse, wire_for_drop, wire_that_carries
from showplan.planner.power.protection import ROUNDING
from showplan.planner.power.results import ConductorPower
from showplan.planner.power.supply_facts import SupplyFacts
from showplan.planner.power.words import Judged, JudgedOutput, about

CORDS = "BS 7671 Table 4F3A, 60 °C cords, by ambient temperature and grouping"
RULE = "IEC 60364-4-43 433.1 (from memory): the fuse carries the load, the conductor the fuse"


def conductor_findings(judged: Judged) -> Iterator[Finding]:
    """Ampacity, protection and drop of every trunk and lead."""
    for node, facts in zip(judged.power.nodes, judged.facts.nodes, strict=True):
        supply, kit = judged.facts.supplies[facts.supply], facts.node
        subject = ("node", node.node)
        if node.trunk is not None:
            yield from _ampacity(subject, f"The trunk of {node.node}", node.trunk)
            yield from _protection(
                subject, f"The trunk of {node.node}", node.trunk, kit.main_fuse_class, node.current.most
            )
        if kit.main_fuse_a is not None:
            name = f"The main fuse of {node.node}"
            given = (kit.main_fuse_a, kit.main_fuse_class, kit.main_fuse_v, kit.main_fuse_breaks_a)
            yield from _fuse(subject, name, given, node.current.most, supply, 0.0)
    for one in judged.outputs():
        lead, load, subject = one.output.lead, one.load, ("load", one.output.load)
        name = f"The lead of {one.name}"
        yield from _ampacity(subject, name, lead)
        yield from _protection(subject, name, lead, load.fuse_class, one.output.current.most)
        if load.fuse_a is not None:
            given = (load.fuse_a, load.fuse_class, load.fuse_v, load.fuse_breaks_a)
            before_ohm = (one.node.trunk.ohm if one.node.trunk else 0.0) + one.kit.main_fuse_mohm / 1000
            yield from _fuse(subject, f"The fuse of {one.name}", given, one.output.current.most, one.supply, before_ohm)
        yield from _drop(one)


def _ampacity(subject: tuple[str, str], name: str, lead: ConductorPower) -> Iterator[Finding]:
    if not tables.is_in_table(lead.area_mm2):
        sizes = tables.areas_mm2()
        yield about(
            subject,
            "lead-not-in-table",
            "note",
            f"{name}, {lead.area_mm2:g} mm², is not in the table of {sizes[0]:g} to {sizes[-1]:g} mm²: its resistance"
            " is"
            f" taken by its area, its current as {lead.table_a:.3g} A.",
            "Check both against the maker's data sheet.",
            Quantity("counted", lead.table_a, "A"),
        )
    if lead.design_a > lead.ampacity_a:
        yield about(
            subject,
            "lead-over-ampacity",
            "stop",
            f"{name}, {lead.area_mm2:g} mm², carries up to {lead.design_a:.3g} A; so laid it may carry"
            f" {lead.ampacity_a:.3g} A.",
            f"Lay a thicker one: {wire_that_carries(lead, lead.design_a)}.",
            Quantity("carries", lead.design_a, "A"),
            Quantity("may carry", lead.ampacity_a, "A"),
            formula="ampacity_a",
            source=CORDS,
        )


def _protection(
    subject: tuple[str, str], name: str, lead: ConductorPower, fuse_class: str, load_a: float
) -> Iterator[Finding]:
    if lead.protected_by_a is not None:
        return
    carried = Quantity("may carry", lead.ampacity_a, "A")
    remedy = wire_and_fuse(lead, fuse_class, load_a)
    wanted, largest = lead.fuse_wanted_a, lead.largest_fuse_a
    if wanted is not None and (largest is None or wanted > largest):
        most = f"{largest:g} A" if largest else "none"
        also = f" The load wants {wanted:g} A, the largest that protects it is {most}."
    else:
        also = ""
    if lead.fuse_a is None:
        yield about(
            subject,
            "unprotected-conductor",
            "stop",
            f"{name}, {lead.area_mm2:g} mm² for {lead.ampacity_a:.3g} A, has no fuse before it that protects it.{also}",
            remedy,
            carried,
            source=RULE,
        )
        return
    needed_a = tables.ampacity_for_fuse_a(fuse_class, lead.fuse_a)
    yield about(
        subject,
        "fuse-cannot-protect",
        "stop",
        f"{name} may carry {lead.ampacity_a:.3g} A; its fuse of {lead.fuse_a:g} A protects what carries"
        f" {needed_a:.3g} A or more.{also}",
        remedy,
        carried,
        Quantity("fuse", lead.fuse_a, "A"),
        source=RULE,
    )


def _fuse(
    subject: tuple[str, str],
    name: str,
    given: tuple[float, str, float | None, float | None],
    load_a: float,
    supply: SupplyFacts,
    before_ohm: float,
) -> Iterator[Finding]:
    """Whether a fuse carries the load, and can break what may come."""
    fuse_a, fuse_class, fuse_v, breaks_a = given
    series = tables.series_of(fuse_class)
    lasting_a = fuse_a * series.continuous_share
    if load_a > lasting_a * (1 + ROUNDING):
        blows = load_a > fuse_a
        wanted = tables.fuse_for(fuse_class, load_a)
        yield about(
            subject,
            "fuse-too-small",
            "stop" if blows else "warn",
            f"{name}, {fuse_a:g} A ({series.name}), carries {lasting_a:.3g} A for hours; up to {load_a:.3g} A flow.",
            f"Use {wanted:g} A, and see that the conductor carries it."
            if wanted
            else "Share the load between outputs.",
            Quantity("flows", load_a, "A"),
            Quantity("carries for hours", lasting_a, "A"),
            formula="fuse_wanted_a",
            source=series.source,
        )
    volts = supply.emf_v.full
    rated_v = fuse_v or series.volts[0]
    if volts > rated_v:
        yield about(
            subject,
            "fuse-voltage",
            "stop",
            f"{name} is for {rated_v:g} V; the supply reaches {volts:.3g} V.",
            "Use one rated for that direct voltage.",
            Quantity("rated", rated_v, "V"),
            source=series.source if fuse_v is None else "",
        )
    short_a = _short_circuit_a(supply, before_ohm)
    breaks = breaks_a or tables.breaking_a(fuse_class, fuse_a)
    if short_a is not None and short_a > breaks:
        usual = "" if breaks_a else f" (usual of {series.name})"
        yield about(
            subject,
            "fuse-cannot-break",
            "stop",
            f"{name} breaks {breaks:.3g} A{usual}; {supply.label or 'the supply'} pushes {short_a:.0f} A into a short"
            " circuit.",
            f"Use one with a breaking capacity of at least {short_a:.0f} A on direct current.",
            Quantity("breaks", breaks, "A"),
            Quantity("short circuit", short_a, "A"),
            formula="short_circuit_a",
        )


def _short_circuit_a(supply: SupplyFacts, before_ohm: float) -> float | None:
    """Current into a short circuit behind so many ohms, None where nothing is known."""
    if supply.limits_itself:
        return supply.limit_a
    ohm = supply.source_ohm + before_ohm
    return supply.emf_v.full / ohm if ohm > 0 else None


def _drop(one: JudgedOutput) -> Iterator[Finding]:
    venue, output = one.scene.venue, one.output
    percent = output.drop_percent
    if percent <= venue.drop_warn_percent:
        return
    is_over = percent > venue.drop_stop_percent
    limit = venue.drop_stop_percent if is_over else venue.drop_warn_percent
    supply_v = 100 * output.drop_v / percent
    advice = wire_for_drop(output.lead, output.drop_v, supply_v, venue.drop_warn_percent)
    yield one.about(
        "drop-over-limit" if is_over else "drop-high",
        "stop" if is_over else "warn",
        f"{one.name}: leads, fuses and switch take {min(percent, 100):.3g} % of the voltage at rated current; the"
        " limit is"
        f" {limit:g} %.",
        f"{advice}.",
        Quantity("drop", output.drop_v, "V"),
        Quantity("drop", percent, "%"),
        formula="cable_drop_v",
        source="3 % for lighting: IEC 60364-5-52 Table G.52.1, NEC 210.19(A) note 4; the venue's own limits hold",
    )
