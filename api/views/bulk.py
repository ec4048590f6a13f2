"""Many records in one call, one transaction and one revision: all or none."""

from collections.abc import Mapping
from reprlib import repr as brief
from typing import Any

from rest_framework.request import Request
from rest_framework.response import Response

from api.bulk_rows import BulkRequest, Reading, Refused
from api.problems import Problem, bad_parameter
from api.repeats import once
from api.representation import as_values, names_of
from api.views.base import Parent
from api.views.records import NounEndpoint
from showplan.services.errors import InvalidInput
from showplan.services.record_writing import Written, project_of, write_records
from showplan.services.rights import refuse_unless_editor

REPORTS = ("rows",)


class Bulk(NounEndpoint):
    """Bulk create and update."""

    post_parameters = ("report",)

    def post(self, request: Request, **_: Any) -> Response:
        """Write all rows, or none and every fault. With `?report=rows` the answer has an entry for each row."""
        report = request.query_params.get("report")
        if report not in (None, *REPORTS):
            raise bad_parameter("report", f"must be {' or '.join(REPORTS)}, not {brief(report)}")
        parent = self.parent_of(self.noun)
        refuse_unless_editor(self.caller, project_of(parent))
        return once(request, lambda: self._write(request.data, parent, with_rows=report is not None))

    def _write(self, data: Any, parent: Parent, *, with_rows: bool) -> Response:
        request = BulkRequest(data=data)
        request.is_valid(raise_exception=True)
        asked: Mapping[str, Any] = request.validated_data
        try:
            rows = Reading(self.noun, parent).rows(asked)
        except Refused as refused:
            raise _refusal(refused.errors, asked, with_rows=with_rows) from refused
        try:
            written = write_records(self.caller, self.noun, parent, create=rows.creates, update=rows.updates)
        except InvalidInput as invalid:
            raise _refusal(rows.errors_of(invalid.faults), asked, with_rows=with_rows) from invalid
        answer: dict[str, Any] = {"created": len(written.created), "updated": len(written.updated)}
        answer["revision"] = project_of(parent).revision
        if with_rows:
            answer["rows"] = self._rows(written)
        return Response(answer)

    def _rows(self, written: Written) -> list[dict[str, Any]]:
        names = names_of(self.noun)
        return [
            {"part": part, "row": row, "record": as_values(record, names)}
            for part, records in (("create", written.created), ("update", written.updated))
            for row, record in enumerate(records)
        ]


def _refusal(errors: list[dict[str, str]], asked: Mapping[str, Any], *, with_rows: bool) -> Problem:
    """422 with every fault; with `rows`, each row of the call and the faults that are its own."""
    detail = f"{len(errors)} fault{'s' if len(errors) > 1 else ''}; nothing was written"
    if not with_rows:
        return Problem(422, "invalid-input", detail, errors=errors)
    rows = []
    for part in ("create", "update"):
        for row in range(len(asked.get(part, []))):
            pointer = f"/{part}/{row}"
            own = [e for e in errors if e["pointer"] == pointer or e["pointer"].startswith(f"{pointer}/")]
            rows.append({"part": part, "row": row, "errors": own})
    return Problem(422, "invalid-input", detail, errors=errors, rows=rows)
