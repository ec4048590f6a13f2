"""What the environment decides: the secret key, debug, host names; and the tables that come with the program."""

import os

from django.conf import settings

from showplan.services.doctor.diagnosis import Verdict, fail, ok, warn
from showplan.services.knowledge import TABLES, table_named

# Django's own deployment check (security.W009) asks for the same.
SHORTEST_KEY = 50
FEWEST_CHARACTERS = 5
LOOPBACK = {"127.0.0.1", "localhost", "[::1]", "::1", "testserver"}


def reference_tables() -> Verdict:
    """Each can be read."""
    sizes = {name: len(table_named(name)) for name in TABLES}
    empty = [name for name, size in sizes.items() if not size]
    if empty:
        return fail(f"empty: {', '.join(empty)}", "the checkout is not whole: get showplan/reference again")
    return ok(f"{len(sizes)} tables, {sum(sizes.values())} rows")


def secret_key() -> Verdict:
    """Long and varied enough, and readable by its owner only."""
    key = settings.SECRET_KEY
    if len(key) < SHORTEST_KEY or len(set(key)) < FEWEST_CHARACTERS:
        hint = f"use {SHORTEST_KEY} or more random characters; without SHOWPLAN_SECRET_KEY a good one is made"
        return fail("too weak: sessions and tokens could be forged", hint)
    path = settings.DATA_DIR / "secret-key"
    if not os.environ.get("SHOWPLAN_SECRET_KEY") and path.exists() and path.stat().st_mode & 0o077:
        return warn("the file secret-key can be read by other users of this machine", "set its mode to 600")
    return ok(f"{len(key)} characters")


def debug() -> Verdict:
    """Off where others can reach the service: its error pages show settings and source."""
    if not settings.DEBUG:
        return ok("off")
    hint = "unset SHOWPLAN_DEBUG"
    if set(settings.ALLOWED_HOSTS) <= LOOPBACK:
        return warn("on, for this machine only", f"{hint} before others use it")
    return fail("on, for other machines too", hint)


def allowed_hosts() -> Verdict:
    """Named one by one; other machines only through TLS."""
    hosts = settings.ALLOWED_HOSTS
    if not hosts or "*" in hosts:
        found = "any host name is answered" if hosts else "no host name is answered"
        return fail(found, "set SHOWPLAN_ALLOWED_HOSTS to the names people type, separated by commas")
    found = ", ".join(hosts)
    if not set(hosts) <= LOOPBACK and not settings.CSRF_TRUSTED_ORIGINS:
        hint = "put a proxy with TLS in front and set SHOWPLAN_TRUSTED_ORIGINS to its https:// origin"
        return warn(f"{found}: passwords and tokens travel unencrypted", hint)
    return ok(found)
