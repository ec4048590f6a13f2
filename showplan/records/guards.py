"""Rules between tables that a CHECK cannot state, kept by triggers on SQLite and PostgreSQL alike.

The services check the same rules first and explain them per field; these guards are the last line, for two
crews writing at once and for anything that writes past the services. A guard that fires raises IntegrityError
with a text that holds its name and message (`read_guard_message` finds them).
"""

import re
from dataclasses import dataclass

from django.db import connections

from showplan import reference

MARK = "showplan-guard"


@dataclass(frozen=True)
class Guard:
    """Refuses an INSERT or UPDATE of `table` where the SQL `condition` on NEW holds."""

    name: str
    table: str
    condition: str
    message: str


def _off_level(table: str, *points: tuple[str, str], applies: str = "1 = 1") -> list[Guard]:
    """`table` has points that must lie on the level it names; the level must not shrink below them either."""
    outside = " OR ".join(
        f"{{row}}.{x} < {{level}}.origin_x_m OR {{row}}.{x} > {{level}}.origin_x_m + {{level}}.width_m"
        f" OR {{row}}.{y} < {{level}}.origin_y_m OR {{row}}.{y} > {{level}}.origin_y_m + {{level}}.depth_m"
        for x, y in points
    )
    noun = table.removeprefix("records_")
    return [
        Guard(
            name=f"{noun}_on_level",
            table=table,
            condition=f"{applies.format(row='NEW')} AND EXISTS (SELECT 1 FROM records_level l"
            f" WHERE l.id = NEW.level_id AND ({outside.format(row='NEW', level='l')}))",
            message=f"the {noun} lies off its level",
        ),
        Guard(
            name=f"level_holds_{noun}",
            table="records_level",
            condition=f"EXISTS (SELECT 1 FROM {table} t WHERE t.level_id = NEW.id AND {applies.format(row='t')}"
            f" AND ({outside.format(row='t', level='NEW')}))",
            message=f"a {noun} on this level would lie off it",
        ),
    ]


def _same_project(table: str, column: str, target: str, project: str = "NEW.project_id") -> Guard:
    noun, target_noun = table.removeprefix("records_"), target.removeprefix("records_")
    return Guard(
        name=f"{noun}_{column.removesuffix('_id')}_same_project",
        table=table,
        condition=f"NEW.{column} IS NOT NULL AND NOT EXISTS"
        f" (SELECT 1 FROM {target} t WHERE t.id = NEW.{column} AND t.project_id = {project})",
        message=f"the {target_noun} belongs to another project",
    )


# Written out when the guards are laid, which is after every migration: they follow the table.
PHYS_OF_TABLE = ", ".join(f"'{key}'" for key in reference.phys())


def _phy_known(table: str) -> Guard:
    noun = table.removeprefix("records_")
    return Guard(
        name=f"{noun}_phy_known",
        table=table,
        condition=f"NEW.phy NOT IN ({PHYS_OF_TABLE}) AND NOT EXISTS"
        ' (SELECT 1 FROM records_ownphy p WHERE p.project_id = NEW.project_id AND p."key" = NEW.phy)',
        message="the phy is neither in the table of phys nor an own PHY of the project",
    )


VENUE_PROJECT = "(SELECT v.project_id FROM records_venue v WHERE v.id = NEW.venue_id)"
LEVEL_PROJECT = (
    "(SELECT v.project_id FROM records_venue v JOIN records_level l ON l.venue_id = v.id WHERE l.id = NEW.level_id)"
)

GUARDS = (
    *_off_level("records_placement", ("x_m", "y_m"), applies="{row}.zone_id IS NULL"),
    *_off_level("records_candidatesite", ("x_m", "y_m")),
    *_off_level("records_reading", ("x_m", "y_m")),
    *_off_level("records_wall", ("start_x_m", "start_y_m"), ("end_x_m", "end_y_m")),
    Guard(
        name="placement_level_of_venue",
        table="records_placement",
        condition="NOT EXISTS (SELECT 1 FROM records_level l WHERE l.id = NEW.level_id AND l.venue_id = NEW.venue_id)",
        message="the level belongs to another venue",
    ),
    Guard(
        name="placement_zone_of_level",
        table="records_placement",
        condition="NEW.zone_id IS NOT NULL AND NOT EXISTS"
        " (SELECT 1 FROM records_zone z WHERE z.id = NEW.zone_id AND z.level_id = NEW.level_id)",
        message="the zone is on another level",
    ),
    Guard(
        name="load_output_exists",
        table="records_load",
        condition="EXISTS (SELECT 1 FROM records_node n JOIN records_nodetype t ON t.id = n.node_type_id"
        " WHERE n.id = NEW.node_id AND NEW.output > t.outputs)",
        message="the node has no such output",
    ),
    Guard(
        name="node_outputs_enough",
        table="records_node",
        condition="EXISTS (SELECT 1 FROM records_load o JOIN records_nodetype t ON t.id = NEW.node_type_id"
        " WHERE o.node_id = NEW.id AND o.output > t.outputs)",
        message="a load uses an output that this node type does not have",
    ),
    Guard(
        name="nodetype_outputs_enough",
        table="records_nodetype",
        condition="EXISTS (SELECT 1 FROM records_load o JOIN records_node n ON n.id = o.node_id"
        " WHERE n.node_type_id = NEW.id AND o.output > NEW.outputs)",
        message="a load uses an output above the new number of outputs",
    ),
    Guard(
        name="partlevel_gap_is_dark",
        table="records_partlevel",
        condition="NEW.level <> 0 AND EXISTS"
        " (SELECT 1 FROM records_showpart p WHERE p.id = NEW.part_id AND p.kind = 'gap')",
        message="the part is a gap, in which nothing is on",
    ),
    Guard(
        name="showpart_gap_is_dark",
        table="records_showpart",
        condition="NEW.kind = 'gap' AND EXISTS"
        " (SELECT 1 FROM records_partlevel p WHERE p.part_id = NEW.id AND p.level <> 0)",
        message="a load has a level above 0 in this part, so it cannot become a gap",
    ),
    _phy_known("records_network"),
    _phy_known("records_nodetype"),
    Guard(
        name="ownphy_key_not_of_table",
        table="records_ownphy",
        condition=f'NEW."key" IN ({PHYS_OF_TABLE})',
        message="the key is in the table of phys already",
    ),
    Guard(
        name="ownphy_keeps_key_in_use",
        table="records_ownphy",
        condition='EXISTS (SELECT 1 FROM records_ownphy p WHERE p.id = NEW.id AND p."key" <> NEW."key" AND ('
        'EXISTS (SELECT 1 FROM records_network n WHERE n.project_id = p.project_id AND n.phy = p."key")'
        ' OR EXISTS (SELECT 1 FROM records_nodetype t WHERE t.project_id = p.project_id AND t.phy = p."key")))',
        message="a network or node type uses this own PHY by its key",
    ),
    _same_project("records_membership", "crew_id", "records_crew"),
    _same_project("records_invitation", "crew_id", "records_crew"),
    _same_project("records_node", "node_type_id", "records_nodetype"),
    _same_project("records_node", "network_id", "records_network"),
    _same_project("records_node", "supply_id", "records_supply"),
    _same_project("records_node", "crew_id", "records_crew"),
    _same_project("records_traffic", "network_id", "records_network"),
    _same_project("records_traffic", "timeline_id", "records_showtimeline"),
    _same_project("records_showpart", "timeline_id", "records_showtimeline"),
    _same_project("records_feed", "network_id", "records_network"),
    _same_project("records_load", "node_id", "records_node"),
    _same_project("records_partlevel", "part_id", "records_showpart"),
    _same_project("records_partlevel", "load_id", "records_load"),
    _same_project("records_placement", "node_id", "records_node", VENUE_PROJECT),
    _same_project("records_channelchoice", "network_id", "records_network", VENUE_PROJECT),
    _same_project("records_reading", "transmitter_id", "records_node", LEVEL_PROJECT),
    _same_project("records_reading", "receiver_type_id", "records_nodetype", LEVEL_PROJECT),
)


def install(using: str) -> None:
    """Lay every guard anew on the database `using`; safe to repeat."""
    connection = connections[using]
    statements = {"sqlite": _on_sqlite, "postgresql": _on_postgresql}[connection.vendor]
    with connection.cursor() as cursor:
        for guard in GUARDS:
            for statement in statements(guard):
                cursor.execute(statement)


def remove(using: str) -> None:
    """Take every guard away from the database `using`, whichever version of the code laid it."""
    connection = connections[using]
    laid = {
        "sqlite": "SELECT name, '' FROM sqlite_master WHERE type = 'trigger' AND name LIKE 'guard_%'",
        "postgresql": "SELECT tgname, ' ON ' || tgrelid::regclass FROM pg_trigger WHERE tgname LIKE 'guard_%'",
    }[connection.vendor]
    with connection.cursor() as cursor:
        cursor.execute(laid)
        for name, table in cursor.fetchall():
            cursor.execute(f'DROP TRIGGER "{name}"{table}')


def read_guard_message(error: Exception) -> tuple[str, str] | None:
    """(name, message) of the guard that raised `error`, or None if it was no guard."""
    found = re.search(rf"{MARK} (\w+): ([^\n]+)", str(error))
    return (found[1], found[2].strip()) if found else None


def _on_sqlite(guard: Guard) -> list[str]:
    text = f"{MARK} {guard.name}: {guard.message}".replace("'", "''")
    statements = []
    for event in ("INSERT", "UPDATE"):
        trigger = f"guard_{guard.name}_{event.lower()}"
        statements += [
            f"DROP TRIGGER IF EXISTS {trigger}",
            f"CREATE TRIGGER {trigger} BEFORE {event} ON {guard.table} FOR EACH ROW WHEN {guard.condition}"
            f" BEGIN SELECT RAISE(ABORT, '{text}'); END",
        ]
    return statements


def _on_postgresql(guard: Guard) -> list[str]:
    text = f"{MARK} {guard.name}: {guard.message}".replace("'", "''")
    function, trigger = f"guard_{guard.name}()", f"guard_{guard.name}"
    return [
        f"CREATE OR REPLACE FUNCTION {function} RETURNS trigger LANGUAGE plpgsql AS $guard$ BEGIN"
        f" IF {guard.condition} THEN RAISE EXCEPTION '{text}' USING ERRCODE = 'check_violation'; END IF;"
        f" RETURN NEW; END $guard$",
        f"DROP TRIGGER IF EXISTS {trigger} ON {guard.table}",
        f"CREATE TRIGGER {trigger} BEFORE INSERT OR UPDATE ON {guard.table} FOR EACH ROW EXECUTE FUNCTION {function}",
    ]
