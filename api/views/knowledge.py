"""Formulas and reference tables."""

from rest_framework.request import Request
from rest_framework.response import Response

from api.filters import refuse_unknown_parameters
from api.problems import Problem
from api.views.base import Endpoint
from showplan.services.errors import InvalidInput
from showplan.services.knowledge import TABLES, formula_families, formula_named, quick_sum, table_named


class Formulas(Endpoint):
    """The catalogue of published formulas."""

    schema_tag = "formulas"

    def get(self, request: Request) -> Response:
        """Every formula with its parameters, units, range of validity and source."""
        return Response({"items": [one.as_dict() for family in formula_families() for one in family.formulas]})


class OneFormula(Endpoint):
    """One formula."""

    schema_tag = "formulas"

    def get(self, request: Request, name: str) -> Response:
        """The formula."""
        return Response(formula_named(name).as_dict())


class FormulaValue(Endpoint):
    """A quick sum."""

    scopes = {"GET": "compute"}
    schema_tag = "formulas"
    own_parameters = True

    def get(self, request: Request, name: str) -> Response:
        """The value for the parameters in the query, with warnings outside the range of validity."""
        known = [parameter.name for parameter in formula_named(name).parameters]
        refuse_unknown_parameters(request, known)
        try:
            return Response(quick_sum(name, request.query_params.dict()).as_dict())
        except InvalidInput as error:
            errors = [{"parameter": fault.field, "detail": fault.message} for fault in error.faults]
            raise Problem(400, "bad-parameter", str(error), errors=errors) from error


class ReferenceTables(Endpoint):
    """The dated reference tables."""

    schema_tag = "reference"

    def get(self, request: Request) -> Response:
        """The names of the tables."""
        return Response({"items": list(TABLES)})


class OneReferenceTable(Endpoint):
    """One table."""

    schema_tag = "reference"

    def get(self, request: Request, name: str) -> Response:
        """Its rows; each names its source and whether that was read, derived or is from memory."""
        return Response({"items": table_named(name)})
