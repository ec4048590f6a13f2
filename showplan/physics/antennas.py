"""Antenna patterns: gain relative to the greatest gain, 0 dB at most."""

from typing import Final

import numpy as np

from showplan.physics.catalogue import Numeric, Parameter, Source, formula

DEEPEST_NULL_DB: Final = -30.0  # dB, nulls are filled by reflections and by the node itself; from memory
_LEAST_SHARE: Final = 10 ** (DEEPEST_NULL_DB / 10)

_ELEVATION_DEG: Final = Parameter(
    "elevation_deg", "°", "angle above the plane across the antenna's axis", None, -90, 90, -3600, 3600
)
_EXPONENT: Final = Parameter("exponent", "", "n of cos^n, for power: 2 to 4 for a patch", None, 0.5, 20, 0, 1000)


@formula(
    expression="G = 0",
    parameters=(_ELEVATION_DEG,),
    result_unit="dB",
    source=Source("isotropic pattern", standing="derived"),
    validity="for an antenna whose pattern is not known: its stated gain is then taken for every direction",
)
def omni_pattern_db(elevation_deg: Numeric) -> Numeric:
    """Relative gain of an antenna that is taken as equal in all directions: 0 dB."""
    return 0.0 * np.abs(elevation_deg)


@formula(
    expression="G = max(20 log₁₀|cos((π/2) sin ε) / cos ε|, −30)",
    parameters=(_ELEVATION_DEG,),
    result_unit="dB",
    source=Source("pattern of a thin half-wave dipole, textbook form", standing="memory"),
    validity="thin half-wave dipole in the open, −90 to 90°; nulls along the axis are taken as −30 dB",
)
def dipole_pattern_db(elevation_deg: Numeric) -> Numeric:
    """Gain of a half-wave dipole in dB relative to its greatest, 0 dB across the axis, -30 dB along it."""
    elevation = np.radians(elevation_deg)
    across = np.abs(np.cos(elevation))
    # 0/0 along the axis; there the quotient goes to 0 and the floor decides
    quotient = np.cos(np.pi / 2 * np.sin(elevation)) / np.maximum(across, 1e-9)
    pattern: Numeric = 10 * np.log10(np.maximum(quotient**2, _LEAST_SHARE))
    return pattern


@formula(
    expression="G = 10 log₁₀ max(cos^n θ, 10^(−FB/10)), and −FB behind the antenna",
    parameters=(
        Parameter("off_axis_deg", "°", "angle off the direction of greatest gain", None, -180, 180, -3600, 3600),
        _EXPONENT,
        Parameter("front_to_back_db", "dB", "greatest gain over gain behind", None, 5, 30, 0, 100),
    ),
    result_unit="dB",
    source=Source("cos^n model of a patch antenna with a constant back lobe", standing="memory"),
    validity="an assumption until the maker's pattern is at hand; n 0.5 to 20, front-to-back ratio 5 to 30 dB",
)
def patch_pattern_db(off_axis_deg: Numeric, exponent: Numeric, front_to_back_db: Numeric) -> Numeric:
    """Gain of a patch in dB relative to its greatest; behind it the front-to-back ratio. Arrays broadcast."""
    forward = np.maximum(np.cos(np.radians(off_axis_deg)), 0.0)
    share = np.maximum(forward**exponent, 10.0 ** (-np.asarray(front_to_back_db) / 10))
    # cos 90° to the power of 0 is 1: beside and behind the antenna only the back lobe counts
    share = np.where(forward > 1e-12, share, 10.0 ** (-np.asarray(front_to_back_db) / 10))
    pattern: Numeric = 10 * np.log10(share)
    return pattern


@formula(
    expression="D = 10 log₁₀(2 (n + 1))",
    parameters=(_EXPONENT,),
    result_unit="dBi",
    source=Source("integral of cos^n over the front half space", standing="derived"),
    validity="no back lobe and no losses: the antenna's own gain is less",
)
def patch_directivity_dbi(exponent: Numeric) -> Numeric:
    """Directivity in dBi of a pattern cos^n, for checking a stated gain against a stated beam."""
    directivity: Numeric = 10 * np.log10(2 * (exponent + 1))
    return directivity
