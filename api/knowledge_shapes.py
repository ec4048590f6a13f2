"""Shapes of formulas and reference tables, for the API's description."""

from typing import Any

from rest_framework import serializers as s

STANDINGS = ["read", "memory", "derived"]


class Source(s.Serializer[Any]):
    """Where a formula stands, and whether that text was read, remembered or the formula derived."""

    document = s.CharField()
    edition = s.CharField()
    section = s.CharField()
    standing = s.ChoiceField(choices=STANDINGS)


class Parameter(s.Serializer[Any]):
    """One argument. Outside low to high the answer carries a warning; past the other limits it is refused."""

    name = s.CharField()
    unit = s.CharField()
    meaning = s.CharField()
    default = s.FloatField(allow_null=True)
    low = s.FloatField(allow_null=True)
    high = s.FloatField(allow_null=True)
    minimum = s.FloatField(allow_null=True)
    maximum = s.FloatField(allow_null=True)
    above = s.FloatField(allow_null=True)
    whole_number = s.BooleanField()


class Formula(s.Serializer[Any]):
    """One formula of the catalogue."""

    name = s.CharField()
    meaning = s.CharField()
    expression = s.CharField()
    parameters = Parameter(many=True)
    result_unit = s.CharField()
    source = Source()
    validity = s.CharField()


class FormulaValue(s.Serializer[Any]):
    """The value of a formula, with what went in and what to be careful about."""

    name = s.CharField()
    value = s.FloatField()
    unit = s.CharField()
    inputs = s.DictField(child=s.FloatField())
    source = Source()
    warnings = s.ListField(child=s.CharField())


class TableNames(s.Serializer[Any]):
    """The names of the reference tables."""

    items = s.ListField(child=s.CharField())


class TableRows(s.Serializer[Any]):
    """Rows of a reference table; the columns are the table's own."""

    items = s.ListField(child=s.DictField())
