"""The whole description (OpenAPI 3.1) as it is checked in beside this file and served.

`manage.py describe_api` writes it. The service never makes it anew: a call must not cost a second of work.
"""

import json
from collections import Counter
from collections.abc import Iterator, Mapping
from typing import Any

from drf_spectacular.drainage import GENERATOR_STATS, reset_generator_stats
from drf_spectacular.generators import SchemaGenerator
from drf_spectacular.renderers import OpenApiJsonRenderer
from drf_spectacular.validation import validate_schema

from api.examples import examples
from api.introduction import INTRODUCTION, TAGS
from api.refusals import shared_responses
from showplan.services.nouns import NOUNS

SHARED_FROM = 3  # operations with the same parameter


class DescriptionError(Exception):
    """The description has gaps: everything the generator warned of."""


def describe() -> dict[str, Any]:
    """The description as JSON values. Raises DescriptionError, or jsonschema's ValidationError."""
    reset_generator_stats()
    with GENERATOR_STATS.silence():
        generator = SchemaGenerator()
        made = generator.get_schema(request=None, public=True)
        complaints = [*GENERATOR_STATS._error_cache, *GENERATOR_STATS._warn_cache]
    if complaints:
        raise DescriptionError("; ".join(complaints))
    found: dict[str, Any] = json.loads(OpenApiJsonRenderer().render(made))
    found["info"]["description"] = INTRODUCTION
    found["tags"] = _tags(found["paths"])
    found["components"] = _components(found["components"])
    _share(found)
    for schema in _objects_in(found):
        _without_noise(schema)
    validate_schema(found)
    return found


def as_text(description: Mapping[str, Any]) -> str:
    """As it stands in the file."""
    return json.dumps(description, indent=1, ensure_ascii=False) + "\n"


def _components(made: dict[str, Any]) -> dict[str, Any]:
    schemas = made["schemas"]
    for name, schema in schemas.items():
        if name.endswith("Request"):
            schema["additionalProperties"] = False  # unknown fields are refused
            if name.endswith("BulkRequest"):
                schema["minProperties"] = 1
    for name, example in examples():
        schemas[name]["examples"] = [example]
    return {**made, "schemas": schemas, "responses": shared_responses()}


def _tags(paths: Mapping[str, Any]) -> list[dict[str, str]]:
    """Every tag in use, with what it is about."""
    words = {noun.path: " ".join((noun.model.__doc__ or "").split()) for noun in NOUNS} | TAGS
    used = {tag for path in paths.values() for operation in path.values() for tag in operation["tags"]}
    return [{"name": tag, "description": words[tag]} for tag in sorted(used)]


def _share(found: dict[str, Any]) -> None:
    """State once what many operations have in common: who may call, and parameters of the same name and words."""
    operations = [operation for path in found["paths"].values() for operation in path.values()]
    found["security"] = operations[0]["security"]
    for operation in operations:
        if operation["security"] == found["security"]:
            del operation["security"]
    given = [parameter for operation in operations for parameter in operation.get("parameters", [])]
    shared: dict[str, Any] = {}
    for text, count in Counter(json.dumps(parameter, sort_keys=True) for parameter in given).items():
        if count >= SHARED_FROM:
            shared.setdefault(json.loads(text)["name"], text)
    texts = {text: name for name, text in shared.items()}
    found["components"]["parameters"] = {name: json.loads(text) for name, text in sorted(shared.items())}
    for operation in operations:
        for index, parameter in enumerate(operation.get("parameters", [])):
            name = texts.get(json.dumps(parameter, sort_keys=True))
            if name:
                operation["parameters"][index] = {"$ref": f"#/components/parameters/{name}"}


def _objects_in(value: Any) -> Iterator[dict[str, Any]]:
    if isinstance(value, dict):
        yield value
        for inner in list(value.values()):
            yield from _objects_in(inner)
    elif isinstance(value, list):
        for inner in value:
            yield from _objects_in(inner)


def _without_noise(schema: dict[str, Any]) -> None:
    """Take out what the generator adds to each choice: a list of its keys as their own labels, and a mark."""
    if schema.pop("x-spec-enum-id", None) is None:
        return
    text = schema.get("description", "").partition("* `")[0].strip()
    schema.pop("description", None)
    if text:
        schema["description"] = text
