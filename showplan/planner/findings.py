"""Findings: what a check has to say, with its numbers and what would fix it."""

from dataclasses import dataclass
from typing import Literal

Severity = Literal["stop", "warn", "note"]
SEVERITIES: tuple[Severity, ...] = ("stop", "warn", "note")


@dataclass(frozen=True)
class Question:
    """One of the seven questions a crew answers for every venue."""

    key: str
    title: str


QUESTIONS = (
    Question("legal-and-quiet", "Is it legal and quiet here?"),
    Question("heard", "Does every node hear the show?"),
    Question("data-fits", "Does the data fit?"),
    Question("power-lasts", "Does the power last, safely?"),
    Question("same-plan", "Does everybody have the same plan?"),
    Question("prediction-right", "Was the prediction right?"),
    Question("fits-the-truck", "Does the tour fit in the truck?"),
)


@dataclass(frozen=True)
class Subject:
    """What a finding is about: the kind of record and the name people use for it."""

    kind: str
    name: str


@dataclass(frozen=True)
class Quantity:
    """A number behind a finding."""

    name: str
    value: float
    unit: str

    def __str__(self) -> str:
        return f"{self.name} {self.value:.1f} {self.unit}" if self.unit else f"{self.name} {self.value:g}"


@dataclass(frozen=True)
class Finding:
    """The result of one check on one subject.

    `code` is stable and kebab-case; `sentence` says in plain words what is so; `remedy` what would fix it, empty
    where nothing needs fixing; `formulas` names the catalogue's formulas behind the numbers; `source` cites the
    table or document where the finding rests on one; `house` is the state of the house in which it holds, empty
    where it holds in every state.
    """

    code: str
    question: str
    severity: Severity
    subject: Subject
    sentence: str
    remedy: str = ""
    quantities: tuple[Quantity, ...] = ()
    formulas: tuple[str, ...] = ()
    source: str = ""
    house: str = ""

    @property
    def rank(self) -> tuple[int, str, str, str]:
        """Order in lists: the gravest first, then by code and subject."""
        return SEVERITIES.index(self.severity), self.code, self.subject.kind, self.subject.name
