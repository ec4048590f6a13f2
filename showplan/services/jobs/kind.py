"""What a kind of job is: checked parameters, and a function that computes. Imports no Django."""

import json
from collections.abc import Callable, Iterable, Mapping, Sequence
from dataclasses import dataclass
from reprlib import repr as brief
from typing import Any

import rfc8785
from pydantic import BaseModel, ConfigDict, ValidationError
from pydantic_core import ErrorDetails

from showplan.planner.scene import Scene
from showplan.planner.watch import Watch
from showplan.services.errors import FieldFault, InvalidInput


class Parameters(BaseModel):
    """Base of every kind's parameters: strict, frozen, finite; a field's title is its label on the page."""

    model_config = ConfigDict(extra="forbid", strict=True, frozen=True, allow_inf_nan=False)


def nothing_to_check(scene: Scene, parameters: Any) -> Iterable[FieldFault]:
    """For kinds whose parameters do not refer to the Scene."""
    return ()


def no_words(result: Any) -> Sequence[str]:
    """For kinds whose result has no short form."""
    return ()


@dataclass(frozen=True)
class Kind:
    """One kind of job.

    `compute(scene, parameters, watch)` gives a JSON value and depends on nothing else: it is run again, in another
    process, when a worker dies. It must be a function of a module. It raises CannotCompute where the answer is no.
    `check` finds, when the job is asked for, what the Scene says against the parameters. `in_words` gives the result
    in a few sentences. `measure` says what best and bound count, such as 'relays'. `page` names a page of its own
    that asks for it and shows it; without one, the list of jobs has a form for it. `scope` is what a token needs.
    """

    name: str
    title: str
    about: str
    parameters: type[BaseModel]
    compute: Callable[[Scene, Any, Watch], Any]
    check: Callable[[Scene, Any], Iterable[FieldFault]] = nothing_to_check
    in_words: Callable[[Any], Sequence[str]] = no_words
    measure: str = ""
    page: str = ""
    scope: str = "compute"


def read_parameters(kind: Kind, given: Mapping[str, Any]) -> BaseModel:
    """The checked parameters. Raises InvalidInput with every fault."""
    try:
        # By way of JSON, so that a list stands for a tuple as it does in a call of the API.
        parameters = kind.parameters.model_validate_json(json.dumps(dict(given)))
    except ValidationError as error:
        raise InvalidInput(_fault(one) for one in error.errors()) from None
    try:
        text = canonical(parameters)
    except ValueError:  # half a character pair, or a whole number beyond 2^53
        raise InvalidInput([FieldFault("", "a text or number cannot be written in JSON that all can read")]) from None
    if "\\u0000" in text:
        raise InvalidInput([FieldFault("", "a text has a character (NUL) that no database takes")])
    return parameters


def canonical(parameters: BaseModel) -> str:
    """The parameters, those left out included, in canonical JSON (RFC 8785)."""
    return rfc8785.dumps(parameters.model_dump(mode="json")).decode()


def _fault(detail: ErrorDetails) -> FieldFault:
    field = "/".join(str(step).replace("~", "~0").replace("/", "~1") for step in detail["loc"])
    match detail["type"]:
        case "extra_forbidden":
            message = "is no parameter of this kind: take it out or correct its name"
        case "missing":
            message = "is missing"
        case "too_short" | "too_long" as type_:
            least, most = (detail["ctx"].get(name) for name in ("min_length", "max_length"))
            bound = f"at least {least}" if type_ == "too_short" else f"at most {most}"
            message = f"must have {bound} entries, not {detail['ctx']['actual_length']}"
        case _:
            message = f"{detail['msg'].replace('Input should be', 'must be')}, not {brief(detail['input'])}"
    return FieldFault(field, message)
