"""What the description says before the first operation."""

from typing import Final

INTRODUCTION: Final = """\
The API of Showplan, a planning aid for crews who tour wireless low-voltage stage lighting. Mains, rigging, batteries \
on people and radio power are governed by local codes, the venue's rules and licensed practice; where those differ \
from a figure here, they win.

**Who calls.** Scripts send `Authorization: Bearer TOKEN`; pages use the session of whoever signed in. A token has \
scopes (`read`, `write`, `compute`), an expiry and, where wanted, one project; it never opens more than its user's \
role does. Each operation names the scope it needs.

**Records.** Every record has an `id` (UUID) and a `version`, which is also its ETag. PATCH and DELETE need `If-Match` \
with the version you saw: without it 428, with an older one 412 and the record as it is now. Fields that are not \
named keep their values; `null` clears one. Unknown fields are refused. Units stand in the names of the fields.

**Lists** come in pages: follow `next` until it is null. `fields` narrows what comes of each record.

**Repeats.** A POST with an `Idempotency-Key` may be sent again: the answer is the first one, the effect happens once.

**Long computations** are jobs. Starting one answers 202 with the job and its address in `Location`; GET that address, \
each time after the seconds in `Retry-After`, until `state` is done, failed or cancelled. Then `result` or `problem` \
is there. Asking for the same computation of the same Scene again gives the same job and costs nothing.

**Errors** are problem details (RFC 9457). `errors` lists every fault with the JSON pointer (RFC 6901) of its field or \
the name of its query parameter; `request_id` finds the call in the service's log.
"""

TAGS: Final = {
    "files": "Projects and venues as JSON files, nodes, loads, timelines and readings as CSV: out, and in again.",
    "formulas": "The published formulas that the planner uses, with units and sources, and quick sums with them.",
    "history": "Who changed what, when, from which value to which; and taking it back.",
    "invitations": "Links that make whoever opens them a member, once.",
    "jobs": "Long computations: asked for, looked at until they are done, taken back.",
    "me": "Who the service takes the caller for.",
    "members": "Users and their one role in a project.",
    "plan": "What the planner computes of a venue as its records stand.",
    "projects": "Shows and tours: the caller's own.",
    "reference": "Dated tables: materials, PHYs, regions and their rules. Rows from memory say so.",
    "tokens": "The caller's keys for scripts.",
}
