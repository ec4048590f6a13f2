"""Narrowing a list by query parameters: only the noun's own filters, each parsed as its field is."""

from collections.abc import Collection
from reprlib import repr as brief
from typing import Any

from django.core.exceptions import ValidationError
from django.db import models
from django.db.models import QuerySet
from rest_framework.request import Request

from api.problems import Problem, bad_parameter
from showplan.services.nouns import Noun

PAGE_PARAMETERS = ("limit", "after", "fields")
TRUTH = {"true": True, "false": False}


def refuse_unknown_parameters(request: Request, known: Collection[str]) -> None:
    """400 for a query parameter that the address does not have, or one that stands twice."""
    for name, values in request.query_params.lists():
        if name not in known:
            hint = f"known: {', '.join(known)}" if known else "this address takes none"
            raise bad_parameter(name, f"is no parameter here; {hint}")
        if len(values) > 1:
            raise bad_parameter(name, "stands more than once")
        if "\x00" in values[0]:
            raise bad_parameter(name, "has a character that no text here may have")


def filtered(request: Request, noun: Noun, records: QuerySet[Any]) -> QuerySet[Any]:
    """The records that the query parameters ask for."""
    refuse_unknown_parameters(request, (*noun.filters, *PAGE_PARAMETERS))
    wanted = {name: request.query_params[name] for name in noun.filters if name in request.query_params}
    return records.filter(**{name: parse_filter(noun, name, text) for name, text in wanted.items()})


def parse_filter(noun: Noun, name: str, text: str) -> Any:
    """The value of a filter, of the field's own type."""
    field = next(field for field in noun.fields if field.name == name)
    try:
        if isinstance(field, models.BooleanField):
            return TRUTH[text]
        target = field.target_field if isinstance(field, models.ForeignKey) else field
        return target.to_python(text)
    except (ValidationError, KeyError, ValueError, OverflowError):
        raise _bad_value(field, name, text) from None


def _bad_value(field: "models.Field[Any, Any]", name: str, text: str) -> Problem:
    kind = {
        models.BooleanField: "true or false",
        models.ForeignKey: "the identifier (UUID) of a record",
        models.DateField: "a date such as 2027-05-01",
    }
    expected = next((words for sort, words in kind.items() if isinstance(field, sort)), "a value of this field")
    return bad_parameter(name, f"must be {expected}, not {brief(text)}")
