"""Idempotency-Key on POST: the same call again gets the first answer, and its effect happens once.

Only answers to calls that had their effect are kept; a refused call may be sent again under the same key. A secret
is told in the first answer and in no other: it is never kept.
"""

import json
from collections.abc import Callable, Collection

from django.db import transaction
from rest_framework.renderers import JSONRenderer
from rest_framework.request import Request
from rest_framework.response import Response

from api.callers import caller_of
from api.problems import Problem
from showplan.services import repeats
from showplan.services.secrets import fingerprint_of

HEADER = "Idempotency-Key"
REPLAYED = "Idempotency-Replayed"
KEPT_HEADERS = ("ETag", "Location", "Showplan-Revision")
LONGEST_KEY = 200


def once(request: Request, handler: Callable[[], Response], secret: Collection[str] = ()) -> Response:
    """The handler's answer, or the kept one where this very call was made before; that lacks the `secret` members."""
    key = request.headers.get(HEADER)
    if key is None:
        return handler()
    if not 1 <= len(key) <= LONGEST_KEY or not key.isprintable():
        raise Problem(400, "bad-idempotency-key", f"{HEADER} must have 1 to {LONGEST_KEY} printable characters")
    caller = caller_of(request)
    who = f"token {caller.token.pk}" if caller.token else f"user {caller.user.pk}"
    request_hash = fingerprint_of(f"{request.method} {request.get_full_path()}\n".encode() + request.body)
    try:
        begun = repeats.begin(who, key, request_hash)
    except repeats.KeyInUse as error:
        problem = Problem(409, "call-under-way", str(error))
        problem.retry_after_s = 1
        raise problem from error
    except repeats.KeyOfAnotherCall as error:
        raise Problem(422, "key-of-another-call", str(error)) from error
    if isinstance(begun, repeats.Answer):
        return _replay(begun)
    try:
        # The effect and the kept answer are written together: a crash leaves both or neither.
        with transaction.atomic():
            response = handler()
            headers = {name: response[name] for name in KEPT_HEADERS if name in response}
            kept = response.data
            if secret:
                kept = {name: value for name, value in kept.items() if name not in secret}
            body = JSONRenderer().render(kept).decode()
            repeats.keep(begun, repeats.Answer(response.status_code, headers, body))
    except BaseException:
        repeats.forget(begun)
        raise
    return response


def _replay(answer: repeats.Answer) -> Response:
    body = json.loads(answer.body) if answer.body else None
    return Response(body, answer.status, headers={**answer.headers, REPLAYED: "true"})
