"""Fast and slow fading: how often a mean margin is enough."""

from typing import Final

import numpy as np
import numpy.typing as npt
from scipy.interpolate import CubicSpline
from scipy.optimize import brentq
from scipy.special import erfcx, ndtr
from scipy.stats import ncx2

from showplan.physics.catalogue import Numeric, Parameter, Source, formula

Floats = npt.NDArray[np.float64]

RAYLEIGH_FACTOR_DB: Final = -100.0  # dB, Rice factor so small that nothing steady is left: Rayleigh fading

_MARGIN_DB: Final = Parameter("margin_db", "dB", "mean received power above what is needed", None, -60, 60, -1000, 1000)
_SIGMA_DB: Final = Parameter(
    "shadowing_sigma_db", "dB", "standard deviation of the shadowing", None, 0, 12, minimum=0, maximum=40
)
_RICE_FACTOR_DB: Final = Parameter(
    "rice_factor_db", "dB", "steady over scattered power; -100 is Rayleigh", None, None, 20, -100, 30
)
_RICE_OR_RAYLEIGH_DB: Final = Parameter(
    "rice_factor_db", "dB", "steady over scattered power; -100 is Rayleigh", RAYLEIGH_FACTOR_DB, None, 20, -100, 30
)
_OUTAGE: Final = Parameter("outage", "", "share of places and moments without reception", None, 1e-4, 0.5, 1e-9, 0.999)
_RICE: Final = Source("Rice fading by the Marcum Q function, textbook form", standing="memory")
_BOTH: Final = Source("log-normal shadowing of the mean power of Rice or Rayleigh fading", standing="derived")
_BOTH_VALIDITY: Final = (
    "places some wavelengths apart for the slow part, moments or fractions of a wavelength for the fast one; "
    "one antenna, one try; sigma 0 to 12 dB, Rice factor to 20 dB"
)


@formula(
    expression="p = 1 − e^(−10^(−M/10))",
    parameters=(_MARGIN_DB,),
    result_unit="",
    source=Source("Rayleigh fading, exponential power, textbook form", standing="memory"),
    validity="no steady part in the received power; the short form 10^(−M/10) is only good for large margins",
)
def rayleigh_outage(margin_db: Numeric) -> Numeric:
    """Share of moments, 0 to 1, in which Rayleigh fading eats up this mean margin."""
    outage: Numeric = -np.expm1(-(10.0 ** (-np.asarray(margin_db) / 10)))
    return outage


@formula(
    expression="M = −10 log₁₀(−ln(1 − p))",
    parameters=(_OUTAGE,),
    result_unit="dB",
    source=Source("Rayleigh fading, exponential power, textbook form", standing="memory"),
    validity="no steady part in the received power and no shadowing",
)
def rayleigh_margin_db(outage: Numeric) -> Numeric:
    """Mean margin in dB that Rayleigh fading eats up in this share of moments."""
    margin: Numeric = -10 * np.log10(-np.log1p(-np.asarray(outage)))
    return margin


@formula(
    expression="p = 1 − Q₁(√(2K), √(2 (1 + K) 10^(−M/10)))",
    parameters=(_MARGIN_DB, _RICE_FACTOR_DB),
    result_unit="",
    source=_RICE,
    validity="one steady wave among many weak ones: a clear view; Rice factor to 20 dB",
)
def rice_outage(margin_db: Numeric, rice_factor_db: Numeric) -> Numeric:
    """Share of moments, 0 to 1, in which Rice fading eats up this mean margin; -100 dB is Rayleigh."""
    factor = 10.0 ** (np.asarray(rice_factor_db) / 10)
    power = 10.0 ** (-np.asarray(margin_db) / 10)
    # Marcum's Q is the upper tail of a non-central chi-squared distribution with two degrees of freedom
    outage: Numeric = ncx2.cdf(2 * (1 + factor) * power, 2, 2 * factor)
    return outage


@formula(
    expression="P = 1 − E[p_fast(M + σ Z)], Z standard normal",
    parameters=(_MARGIN_DB, _SIGMA_DB, _RICE_OR_RAYLEIGH_DB),
    result_unit="",
    source=_BOTH,
    validity=_BOTH_VALIDITY,
)
def availability(
    margin_db: Numeric, shadowing_sigma_db: Numeric, rice_factor_db: Numeric = RAYLEIGH_FACTOR_DB
) -> Numeric:
    """Share, 0 to 1, of places and moments in which a link with this margin closes.

    Slow fading spreads the mean power by shadowing_sigma_db, fast fading around it follows Rice, or
    Rayleigh where nothing else is said. Numbers or arrays that broadcast; fast when sigma and Rice factor
    take few distinct values, whatever the number of margins (then within 1e-6).
    """
    sigma, factor = np.broadcast_arrays(shadowing_sigma_db, rice_factor_db)
    pairs, which = np.unique(np.stack([sigma.ravel(), factor.ravel()]), axis=1, return_inverse=True)
    margin, place = np.broadcast_arrays(np.asarray(margin_db, np.float64), which.reshape(sigma.shape))
    outage = np.empty(margin.shape)
    for number, (sigma_db, factor_db) in enumerate(pairs.T):
        chosen = place == number
        outage[chosen] = _outage(margin[chosen], float(sigma_db), float(factor_db))
    reached: Numeric = (1 - outage)[()]
    return reached


@formula(
    expression="M with availability(M, σ, K) = 1 − p",
    parameters=(_OUTAGE, _SIGMA_DB, _RICE_OR_RAYLEIGH_DB),
    result_unit="dB",
    source=_BOTH,
    validity=_BOTH_VALIDITY,
)
def fading_margin_db(
    outage: Numeric, shadowing_sigma_db: Numeric, rice_factor_db: Numeric = RAYLEIGH_FACTOR_DB
) -> Numeric:
    """Mean margin in dB to hold back for slow and fast fading so that no more than this share is lost.

    Numbers or arrays that broadcast; some milliseconds for each element.
    """
    arrays = np.broadcast_arrays(outage, shadowing_sigma_db, rice_factor_db)
    margins = [_margin_db(*map(float, row)) for row in zip(*(array.ravel() for array in arrays), strict=True)]
    margin: Numeric = np.array(margins, dtype=np.float64).reshape(arrays[0].shape)[()]
    return margin


@formula(
    expression="M_s = M − fading_margin(1 − s, σ, K)",
    parameters=(
        _MARGIN_DB,
        Parameter("share", "", "share of places and moments", None, 0.5, 0.9999, 0.001, 1 - 1e-9),
        _SIGMA_DB,
        _RICE_OR_RAYLEIGH_DB,
    ),
    result_unit="dB",
    source=_BOTH,
    validity=_BOTH_VALIDITY,
)
def margin_quantile_db(
    margin_db: Numeric,
    share: Numeric,
    shadowing_sigma_db: Numeric,
    rice_factor_db: Numeric = RAYLEIGH_FACTOR_DB,
) -> Numeric:
    """Margin in dB that is reached or passed in this share (0 to 1) of places and moments. Arrays broadcast."""
    return margin_db - fading_margin_db(1 - np.asarray(share), shadowing_sigma_db, rice_factor_db)


@formula(
    expression="p = p₁^n",
    parameters=(
        Parameter("outage", "", "outage of one antenna", None, 1e-4, 0.5, 0, 1),
        Parameter("antenna_count", "", "antennas", None, 1, 4, 1, 100, whole_number=True),
    ),
    result_unit="",
    source=Source("independent branches, the best one is used", standing="derived"),
    validity="antennas that fade independently: half a wavelength apart or more, or crossed",
)
def diversity_outage(outage: Numeric, antenna_count: Numeric) -> Numeric:
    """Share of moments in which none of several independent antennas hears enough. Arrays broadcast."""
    return np.asarray(outage, dtype=np.float64)[()] ** antenna_count


@formula(
    expression="σ = √(σ₁² + σ₂²)",
    parameters=(
        Parameter("first_sigma_db", "dB", "one standard deviation", None, 0, 20, 0, 1000),
        Parameter("second_sigma_db", "dB", "another one", None, 0, 20, 0, 1000),
    ),
    result_unit="dB",
    source=Source(
        "squares of independent deviations add", section="read in a simulator's documentation", standing="read"
    ),
    validity="independent causes: shadowing indoors, outdoors, by walls, by the body",
)
def combined_sigma_db(first_sigma_db: Numeric, second_sigma_db: Numeric) -> Numeric:
    """Standard deviation in dB of the sum of two independent spreads. Arrays broadcast."""
    sigma: Numeric = np.hypot(first_sigma_db, second_sigma_db)
    return sigma


@formula(
    expression="C = Q(a) + e^((2 − 2ab)/b²) Q((2 − ab)/b), a = −M_edge / σ, b = 10 n log₁₀(e) / σ",
    parameters=(
        Parameter("edge_margin_db", "dB", "mean margin on the disc's edge", None, -60, 60, -1000, 1000),
        Parameter("path_loss_exponent", "", "n: 2 in free space", None, 1.5, 5, maximum=20, above=0),
        Parameter("shadowing_sigma_db", "dB", "standard deviation of the shadowing", None, 2, 12, None, 40, 0),
    ),
    result_unit="",
    source=Source("coverage of a disc under log-normal shadowing, textbook form", standing="memory"),
    validity="one transmitter in the middle, loss that grows with distance alone, log-normal shadowing, no walls",
)
def disc_coverage(edge_margin_db: Numeric, path_loss_exponent: Numeric, shadowing_sigma_db: Numeric) -> Numeric:
    """Share, 0 to 1, of a disc's area that is served, from the mean margin on its edge. Arrays broadcast."""
    a = -np.asarray(edge_margin_db) / shadowing_sigma_db
    b = 10 * np.log10(np.e) * np.asarray(path_loss_exponent) / shadowing_sigma_db
    x = 2 / b - a
    # exp(..) Q(x) in two forms, so that neither factor overflows
    right = 0.5 * np.exp(-(a**2) / 2) * erfcx(np.maximum(x, 0) / np.sqrt(2))
    left = np.exp(np.minimum((2 - 2 * a * b) / b**2, 0)) * ndtr(-x)
    coverage: Numeric = ndtr(-a) + np.where(x > 0, right, left)
    return coverage


_WIDEST_SIGMAS: Final = 8.5  # standard deviations, beyond which the normal density counts for nothing
# steps of the quadrature, found by trial: exact to 2e-7 for every Rice factor
_STEP_OF_SHADOWING: Final = 0.4  # standard deviations of the shadowing
_STEP_OF_FADING: Final = 0.6  # spreads of the fast fading
_LONGEST_STEP_DB: Final = 2.0  # dB
_FEW: Final = 4096  # margins; more of them are read from a table
_TABLE_STEP: Final = 0.02  # of both spreads together
_TABLE_END_DB: Final = 250.0  # dB, beyond it every outage is below 1e-18
_SMALLEST: Final = 1e-300  # probability, in place of 0 under a logarithm
_AT_ONCE: Final = 1 << 21  # numbers held at once


def _outage(margin_db: Floats, sigma_db: float, factor_db: float) -> Floats:
    """Outage (n,) of margins (n,) under slow and fast fading."""
    if margin_db.size <= _FEW:
        return _outage_by_quadrature(margin_db, sigma_db, factor_db)
    low_db, high_db = -_WIDEST_SIGMAS * sigma_db - 20, _TABLE_END_DB
    inside_db = np.clip(margin_db, low_db, high_db)
    step_db = _TABLE_STEP * np.hypot(sigma_db, _fast_spread_db(factor_db))
    nodes = int(np.ceil((inside_db.max() - inside_db.min()) / step_db)) + 4
    table_db = np.linspace(inside_db.min(), inside_db.max() + step_db, nodes)
    spline = CubicSpline(table_db, _outage_by_quadrature(table_db, sigma_db, factor_db))
    outage: Floats = np.clip(spline(inside_db), 0.0, 1.0)
    return outage


def _outage_by_quadrature(margin_db: Floats, sigma_db: float, factor_db: float) -> Floats:
    """Trapezoidal rule over the normal density; its step follows the spread of the fast fading.

    The rule is as good as Gauss-Hermite for smooth functions and stays so when Rice fading is narrow
    against the shadowing, where a fixed Gauss-Hermite rule steps over it.
    """
    step, reach = 1.0, 0
    if sigma_db > 0:
        step_db = min(_LONGEST_STEP_DB, _STEP_OF_FADING * _fast_spread_db(factor_db))
        step = min(_STEP_OF_SHADOWING, step_db / sigma_db)
        reach = int(np.ceil(_WIDEST_SIGMAS / step))
    z = step * np.arange(-reach, reach + 1)
    density = np.exp(-(z**2) / 2)
    offsets_db, weights = sigma_db * z, density / density.sum()
    rows = max(1, _AT_ONCE // weights.size)
    parts = [
        _fast_outage(margin_db[start : start + rows, None] + offsets_db, factor_db) @ weights
        for start in range(0, max(margin_db.size, 1), rows)
    ]
    return np.concatenate(parts)


def _fast_outage(margin_db: Floats, factor_db: float) -> Floats:
    """Outage of fast fading alone; the closed form of Rayleigh where nothing steady is left, a hundred times faster."""
    outage = rayleigh_outage(margin_db) if factor_db <= RAYLEIGH_FACTOR_DB else rice_outage(margin_db, factor_db)
    return np.asarray(outage)


def _fast_spread_db(factor_db: float) -> float:
    """About the standard deviation in dB of Rice fading: 6 for Rayleigh, less with a steady part."""
    factor: float = 10 ** (factor_db / 10)
    return float(20 / np.log(10) / np.sqrt(2 * (1 + factor)))


def _margin_db(outage: float, sigma_db: float, factor_db: float) -> float:
    def excess(margin_db: float) -> float:
        reached = float(_outage_by_quadrature(np.array([margin_db]), sigma_db, factor_db)[0])
        return float(np.log(max(reached, _SMALLEST) / outage))  # nearly a straight line in dB

    low_db = -_WIDEST_SIGMAS * sigma_db - 20
    return float(brentq(excess, low_db, -low_db + 150, xtol=1e-9))
