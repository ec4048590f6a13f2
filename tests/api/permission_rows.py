"""Who may do what at which address: the table that `test_permission_matrix` holds the service to.

A row is named after its address (the name of the URL pattern) and a method, and says how each caller fares. Add rows
for a new address at the end of its group; most fit one of the classes.

API classes give a status for each caller; OK stands for the success that the description names. Pages of the team
take no tokens: a token there is as good as nobody, and is asked to sign in.
"""

from collections.abc import Mapping
from typing import Final

OK: Final = 0
SIGN_IN: Final = -1  # sent to the sign-in page

# Callers. Sessions: nobody, outsider (member of another project), viewer, editor, owner, removed (was a member).
# Tokens: read, write, compute (the owner's, each with that one scope), expired (the owner's, every scope),
# outsider_token and removed_token (theirs, every scope; the latter made while still a member).
SESSIONS: Final = ("nobody", "outsider", "viewer", "editor", "owner", "removed")
TOKENS: Final = ("read", "write", "compute", "expired", "outsider_token", "removed_token")
CALLERS: Final = (*SESSIONS, *TOKENS)

Row = Mapping[str, int]


def _row(everybody: int, **differing: int) -> Row:
    return dict.fromkeys(CALLERS, everybody) | differing


def _api(scope: str, *, strangers: int = 404, viewer: int = OK, editor: int = OK) -> Row:
    """An API row: the token of `scope` is let in, the two others are not."""
    tokens = dict.fromkeys(("read", "write", "compute"), 403) | {scope: OK}
    others = dict.fromkeys(("outsider", "removed", "outsider_token", "removed_token"), strangers)
    return _row(OK, **others, **tokens, nobody=401, viewer=viewer, editor=editor, expired=401)


PUBLIC: Final = _row(OK)
NOWHERE: Final = _row(404)
SIGNED_IN: Final = _api("read", strangers=OK)
SIGNED_IN_WRITES: Final = _api("write", strangers=OK)
SIGNED_IN_COMPUTES: Final = _api("compute", strangers=OK)
MEMBER_READS: Final = _api("read")
MEMBER_COMPUTES: Final = _api("compute")
EDITOR_WRITES: Final = _api("write", viewer=403)
EDITOR_COMPUTES: Final = _api("compute", viewer=403)
OWNER_READS: Final = _api("read", viewer=403, editor=403)
OWNER_WRITES: Final = _api("write", viewer=403, editor=403)
# Tokens are their user's own: to everybody else, members of the same project too, they are not there.
OWN_READS: Final = _api("read", viewer=404, editor=404)
OWN_WRITES: Final = _api("write", viewer=404, editor=404)
# Only people make tokens.
PEOPLE_ONLY: Final = SIGNED_IN_WRITES | {"write": 403, "outsider_token": 403, "removed_token": 403}
# Members have nothing to accept.
ACCEPTS: Final = SIGNED_IN_WRITES | {"viewer": 409, "editor": 409, "owner": 409, "write": 409}


def _page(*, strangers: int = 404, viewer: int = OK, editor: int = OK) -> Row:
    return _row(SIGN_IN, outsider=strangers, removed=strangers, viewer=viewer, editor=editor, owner=OK)


PAGE_SIGNED_IN: Final = _page(strangers=OK)
PAGE_OWN: Final = _page(viewer=404, editor=404)
PAGE_MEMBER: Final = _page()
PAGE_EDITOR: Final = _page(viewer=403)
PAGE_OWNER: Final = _page(viewer=403, editor=403)

NOUNS: Final = (
    "crews",
    "venues",
    "own-phys",
    "node-types",
    "networks",
    "timelines",
    "traffic-settings",
    "feeds",
    "supplies",
    "nodes",
    "loads",
    "show-parts",
    "part-levels",
    "levels",
    "walls",
    "zones",
    "crowd-areas",
    "channel-choices",
    "calibrations",
    "candidate-sites",
    "occupied-spectrum",
    "placements",
    "tour-dates",
    "readings",
)

API: Final[Mapping[tuple[str, str], Row]] = {
    **{(f"api-{noun}", "GET"): MEMBER_READS for noun in NOUNS},
    **{(f"api-{noun}", "POST"): EDITOR_WRITES for noun in NOUNS},
    **{(f"api-{noun}-bulk", "POST"): EDITOR_WRITES for noun in NOUNS},
    **{(f"api-{noun}-one", "GET"): MEMBER_READS for noun in NOUNS},
    **{(f"api-{noun}-one", "PATCH"): EDITOR_WRITES for noun in NOUNS},
    **{(f"api-{noun}-one", "DELETE"): EDITOR_WRITES for noun in NOUNS},
    ("api-me", "GET"): SIGNED_IN,
    ("api-tokens", "GET"): SIGNED_IN,
    ("api-tokens", "POST"): PEOPLE_ONLY,
    ("api-tokens-one", "GET"): OWN_READS,
    ("api-tokens-one", "DELETE"): OWN_WRITES,
    ("api-projects", "GET"): SIGNED_IN,
    ("api-projects", "POST"): SIGNED_IN_WRITES,
    ("api-projects-one", "GET"): MEMBER_READS,
    ("api-projects-one", "PATCH"): OWNER_WRITES,
    ("api-projects-one", "DELETE"): OWNER_WRITES,
    ("api-revisions", "GET"): MEMBER_READS,
    ("api-project-readiness", "GET"): MEMBER_COMPUTES,
    ("api-members", "GET"): MEMBER_READS,
    ("api-members-one", "GET"): MEMBER_READS,
    ("api-members-one", "PATCH"): OWNER_WRITES,
    ("api-members-one", "DELETE"): OWNER_WRITES,  # of somebody else; everybody may leave
    ("api-invitations", "GET"): OWNER_READS,
    ("api-invitations", "POST"): OWNER_WRITES,
    ("api-invitations-one", "GET"): OWNER_READS,
    ("api-invitations-one", "DELETE"): OWNER_WRITES,
    ("api-invitations-accept", "POST"): ACCEPTS,
    ("api-changes", "GET"): MEMBER_READS,
    ("api-undo", "POST"): EDITOR_WRITES,
    ("api-project-export", "GET"): MEMBER_READS,
    ("api-project-import", "POST"): SIGNED_IN_WRITES,
    ("api-venue-export", "GET"): MEMBER_READS,
    ("api-venue-import", "POST"): EDITOR_WRITES,
    ("api-nodes-csv", "GET"): MEMBER_READS,
    ("api-nodes-csv", "POST"): EDITOR_WRITES,
    ("api-loads-csv", "GET"): MEMBER_READS,
    ("api-loads-csv", "POST"): EDITOR_WRITES,
    ("api-timelines-csv", "GET"): MEMBER_READS,
    ("api-timelines-csv", "POST"): EDITOR_WRITES,
    ("api-readings-csv", "GET"): MEMBER_READS,
    ("api-readings-csv", "POST"): EDITOR_WRITES,
    ("api-plan-picture", "GET"): MEMBER_READS,
    ("api-plan-picture", "PUT"): EDITOR_WRITES,
    ("api-plan-picture", "DELETE"): EDITOR_WRITES,
    ("api-scene", "GET"): MEMBER_COMPUTES,
    ("api-plan", "GET"): MEMBER_COMPUTES,
    ("api-links", "GET"): MEMBER_COMPUTES,
    ("api-routes", "GET"): MEMBER_COMPUTES,
    ("api-failures", "GET"): MEMBER_COMPUTES,
    ("api-air", "GET"): MEMBER_COMPUTES,
    ("api-air-strategies", "GET"): MEMBER_COMPUTES,
    ("api-power", "GET"): MEMBER_COMPUTES,
    ("api-readiness", "GET"): MEMBER_COMPUTES,
    ("api-coverage", "GET"): MEMBER_COMPUTES,
    ("api-coverage-picture", "GET"): MEMBER_COMPUTES,
    ("api-coverage-archive", "GET"): MEMBER_COMPUTES,
    ("api-coverage-table", "GET"): MEMBER_COMPUTES,
    ("api-spectrum", "GET"): MEMBER_COMPUTES,
    ("api-radio-channels", "GET"): MEMBER_COMPUTES,
    ("api-radio-channels", "POST"): EDITOR_WRITES,
    ("api-calibration-fit", "GET"): MEMBER_COMPUTES,
    ("api-calibration-fit", "POST"): EDITOR_WRITES,
    ("api-calibration-in-use", "POST"): EDITOR_WRITES,
    ("api-jobs", "GET"): MEMBER_COMPUTES,
    ("api-jobs", "POST"): EDITOR_COMPUTES,
    ("api-jobs-one", "GET"): MEMBER_COMPUTES,
    ("api-jobs-cancel", "POST"): EDITOR_COMPUTES,
    ("api-jobs-apply", "POST"): EDITOR_WRITES,
    ("api-job-kinds", "GET"): SIGNED_IN,
    ("api-formulas", "GET"): SIGNED_IN,
    ("api-formulas-one", "GET"): SIGNED_IN,
    ("api-formulas-value", "GET"): SIGNED_IN_COMPUTES,
    ("api-reference", "GET"): SIGNED_IN,
    ("api-reference-one", "GET"): SIGNED_IN,
    ("api-description", "GET"): PUBLIC,
    ("api-docs", "GET"): PUBLIC,
    ("api-unknown", "GET"): NOWHERE,
}

PAGES: Final[Mapping[tuple[str, str], Row]] = {
    ("sign-in", "GET"): PUBLIC,
    ("sign-in", "POST"): PUBLIC,
    ("sign-in", "PUT"): PUBLIC,  # the same as POST to the framework's form view
    ("sign-out", "POST"): PAGE_SIGNED_IN,
    ("join", "GET"): PUBLIC,
    ("join", "POST"): PUBLIC,  # who is not signed in is shown the link's page again, and joins nothing
    ("join-with-new-account", "GET"): PUBLIC,
    ("join-with-new-account", "POST"): PUBLIC,
    ("projects", "GET"): PAGE_SIGNED_IN,
    ("project", "GET"): PAGE_MEMBER,
    ("project-read", "GET"): PAGE_SIGNED_IN,
    ("project-read", "POST"): PAGE_SIGNED_IN,
    ("files", "GET"): PAGE_MEMBER,
    ("files", "POST"): PAGE_EDITOR,
    ("project-file", "GET"): PAGE_MEMBER,
    ("venue-file", "GET"): PAGE_MEMBER,
    ("table-file", "GET"): PAGE_MEMBER,
    ("readings-file", "GET"): PAGE_MEMBER,
    ("project-new", "GET"): PAGE_SIGNED_IN,
    ("project-new", "POST"): PAGE_SIGNED_IN,
    ("project-change", "GET"): PAGE_OWNER,
    ("project-change", "POST"): PAGE_OWNER,
    ("project-delete", "GET"): PAGE_OWNER,
    ("project-delete", "POST"): PAGE_OWNER,
    ("members", "GET"): PAGE_MEMBER,
    ("member-change", "GET"): PAGE_OWNER,
    ("member-change", "POST"): PAGE_OWNER,
    ("member-remove", "GET"): PAGE_OWNER,
    ("member-remove", "POST"): PAGE_OWNER,
    ("invitations", "GET"): PAGE_OWNER,
    ("invitations", "POST"): PAGE_OWNER,
    ("invitation-withdraw", "GET"): PAGE_OWNER,
    ("invitation-withdraw", "POST"): PAGE_OWNER,
    ("tokens", "GET"): PAGE_SIGNED_IN,
    ("token-new", "GET"): PAGE_SIGNED_IN,
    ("token-new", "POST"): PAGE_SIGNED_IN,
    ("token-revoke", "GET"): PAGE_OWN,
    ("token-revoke", "POST"): PAGE_OWN,
    ("history", "GET"): PAGE_MEMBER,
    ("undo", "GET"): PAGE_EDITOR,
    ("undo", "POST"): PAGE_EDITOR,
    **{(f"{kind}-records-{what}", "GET"): PAGE_MEMBER for kind in ("project", "venue") for what in ("list", "history")},
    **{
        (f"{kind}-records-{what}", method): PAGE_EDITOR
        for kind in ("project", "venue")
        for what in ("new", "edit", "delete")
        for method in ("GET", "POST")
    },
    ("venue", "GET"): PAGE_MEMBER,
    ("draw", "GET"): PAGE_EDITOR,
    ("plan-picture", "GET"): PAGE_MEMBER,
    ("coverage", "GET"): PAGE_MEMBER,
    ("coverage-values", "GET"): PAGE_MEMBER,
    ("coverage-table", "GET"): PAGE_MEMBER,
    ("coverage-archive", "GET"): PAGE_MEMBER,
    ("power", "GET"): PAGE_MEMBER,
    ("spectrum", "GET"): PAGE_MEMBER,
    ("spectrum", "POST"): PAGE_EDITOR,
    ("calibration", "GET"): PAGE_MEMBER,
    ("calibration", "POST"): PAGE_EDITOR,
    ("air", "GET"): PAGE_MEMBER,
    ("air", "POST"): PAGE_EDITOR,
    ("air-strategies", "GET"): PAGE_MEMBER,
    ("relays", "GET"): PAGE_MEMBER,
    ("relays", "POST"): PAGE_EDITOR,
    ("jobs", "GET"): PAGE_MEMBER,
    ("jobs", "POST"): PAGE_EDITOR,
    ("job", "GET"): PAGE_MEMBER,
    ("job-result", "GET"): PAGE_MEMBER,
    ("job-cancel", "POST"): PAGE_EDITOR,
    ("scene-file", "GET"): PAGE_MEMBER,
    ("formulas", "GET"): PAGE_SIGNED_IN,
    ("formula", "GET"): PAGE_SIGNED_IN,
    ("reference", "GET"): PAGE_SIGNED_IN,
}

EXPECTED: Final[Mapping[tuple[str, str], Row]] = API | PAGES
