"""Bounded types that the parts of a Scene share."""

from typing import Annotated

from pydantic import ConfigDict, Field

STRICT = ConfigDict(extra="forbid", strict=True, allow_inf_nan=False)

Label = Annotated[str, Field(min_length=1, max_length=80)]
Metres = Annotated[float, Field(ge=-10_000, le=10_000)]
Height = Annotated[float, Field(ge=0, le=500)]
Positive = Annotated[float, Field(gt=0, le=10_000)]
Loss = Annotated[float, Field(ge=0, le=200)]
PowerDbm = Annotated[float, Field(ge=-174, le=40)]
Gain = Annotated[float, Field(ge=-30, le=30)]
Point = tuple[Metres, Metres]
