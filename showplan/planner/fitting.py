"""Fitting a path-loss model to measured losses: arrays in, coefficients with their uncertainty out.

- Few observations cannot produce nonsense: each coefficient has a prior, and the most probable values are sought.
- A lost reading says only that the loss was at least so much: censored regression (Tobit), with its likelihood
  maximised by expectation and maximisation. Leaving such readings out would bias the exponent low.
  The start is least squares on the readings received.
- Outliers are damped by Huber's weights at 1.345 sigma (95 % efficient on normal errors), the scale by his second
  proposal. Source: Huber, Robust Statistics, 1981 (from memory).
"""

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray
from scipy.optimize import lsq_linear
from scipy.special import log_ndtr, ndtr, stdtrit

from showplan.planner.faults import Fault, SceneError

Floats = NDArray[np.float64]
Booleans = NDArray[np.bool_]

HUBER_SIGMAS: Final = 1.345
_LEAST_SIGMA_DB: Final = 1e-6  # dB, keeps readings without any error from dividing by zero
_ROUNDS: Final = 2000
# Mean square of errors N(0, 1) cut off at HUBER_SIGMAS: dividing by it makes the robust scale true for normal errors.
_CUT_OFF_SQUARE: Final = float(
    2 * (ndtr(HUBER_SIGMAS) - 0.5)
    - 2 * HUBER_SIGMAS * np.exp(-(HUBER_SIGMAS**2) / 2) / np.sqrt(2 * np.pi)
    + 2 * HUBER_SIGMAS**2 * ndtr(-HUBER_SIGMAS)
)


class CalibrationError(SceneError):
    """Readings from which no model can be fitted. `faults` says why, each with its place."""


@dataclass(frozen=True)
class Priors:
    """What is known of the coefficients before measuring: `mean`, `width`, `lowest`, each (p,).

    `width` is a standard deviation: infinite for no knowledge, 0 holds the coefficient at its mean. `sigma_db` is
    the expected spread of the readings and counts as much as `sigma_worth` readings.
    """

    mean: Floats
    width: Floats
    lowest: Floats
    sigma_db: float = 1.0
    sigma_worth: float = 0.0

    @classmethod
    def none(cls, columns: int) -> "Priors":
        """No knowledge: with it `fit` is least squares."""
        return cls(np.zeros(columns), np.full(columns, np.inf), np.full(columns, -np.inf))


@dataclass(frozen=True)
class Fit:
    """Coefficients (p,) with `covariance (p, p)`; `residuals`, `left_out_residuals` and `weights` are (n,).

    `sigma_db` divides by `degrees_of_freedom` (readings and prior worth less fitted coefficients). Residuals are
    observed less fitted; `left_out_residuals` are those of a fit without the observation itself (by leverage).
    """

    values: Floats
    covariance: Floats
    sigma_db: float
    degrees_of_freedom: float
    is_kept: Booleans
    is_at_bound: Booleans
    weights: Floats
    residuals: Floats
    left_out_residuals: Floats
    condition_number: float

    @property
    def standard_errors(self) -> Floats:
        """Standard error (p,) of each coefficient."""
        errors: Floats = np.sqrt(np.diag(self.covariance))
        return errors

    def interval(self, level: float = 0.95) -> Floats:
        """Lower and upper bound (p, 2) that hold each coefficient with probability `level` (Student's t)."""
        reach = stdtrit(self.degrees_of_freedom, 0.5 + level / 2) * self.standard_errors
        return np.stack([self.values - reach, self.values + reach], axis=1)


def fit(
    design: Floats,
    observed_db: Floats,
    priors: Priors,
    censored_below: Booleans,
    *,
    is_kept: Booleans | None = None,
    is_robust: bool = True,
) -> Fit:
    """The most probable coefficients (p,) of `observed_db (n,)` = `design (n, p)` x coefficients + N(0, sigma).

    Where `censored_below (n,)`, the received power lay below what could be read: the loss is at least
    `observed_db`. Columns that `is_kept (p,)` stay at the mean of their prior. Raises CalibrationError where the
    observations do not determine the coefficients.
    """
    held = (priors.width == 0) | (np.zeros(design.shape[1], dtype=bool) if is_kept is None else is_kept)
    x, y = design[:, ~held], observed_db - design[:, held] @ priors.mean[held]
    strength, mean, lowest = 1 / priors.width[~held], priors.mean[~held], priors.lowest[~held]
    if np.linalg.matrix_rank(np.vstack([x, np.diag(strength)])) < x.shape[1]:
        raise CalibrationError([Fault("/readings", "do not tell the coefficients apart: add spots behind other walls")])
    weights = np.where(censored_below, 0.0, 1.0)  # for the start only
    sigma_db = priors.sigma_db if priors.sigma_worth else 1.0
    values = _solve(x, y, weights, sigma_db * strength, mean, lowest)
    for _ in range(_ROUNDS):
        fitted = x @ values
        _, hidden_mean, hidden_square = _hidden((y - fitted) / sigma_db, is_robust)
        filled = np.where(censored_below, fitted + sigma_db * hidden_mean, y)
        freedom_each = 1 - _leverage(x, weights, sigma_db, strength)
        weights = _huber_weights(y - fitted, sigma_db * np.sqrt(freedom_each), is_robust, censored_below)
        new = _solve(x, filled, weights, sigma_db * strength, mean, lowest)
        freedom = priors.sigma_worth + freedom_each.sum()
        if freedom < 1e-6:
            raise CalibrationError([Fault("/readings", f"{len(y)} spots cannot determine {x.shape[1]} coefficients")])
        seen_square = (weights * (filled - x @ new)) ** 2
        square = np.where(censored_below, sigma_db**2 * hidden_square, seen_square) / _true_for_normal(is_robust)
        total = square.sum() + priors.sigma_worth * priors.sigma_db**2
        new_sigma_db = max(float(np.sqrt(total / freedom)), _LEAST_SIGMA_DB)
        moved = max(np.abs(new - values).max(initial=0.0), abs(new_sigma_db - sigma_db))
        values, sigma_db = new, new_sigma_db
        if moved < 1e-8:
            break

    residuals = y - x @ values
    information = _information(x, residuals, weights, sigma_db, strength, censored_below, priors, is_robust)
    at_bound = values <= lowest
    covariance = np.diag(np.where(held, priors.width, 0.0) ** 2)
    covariance[np.ix_(~held, ~held)] = np.linalg.pinv(information)[: x.shape[1], : x.shape[1]]
    every_value, every_bound = priors.mean.copy(), np.zeros(len(held), dtype=bool)
    every_value[~held], every_bound[~held] = values, at_bound
    left_out = residuals / (1 - _leverage(x[:, ~at_bound], weights, sigma_db, strength[~at_bound]))
    condition = float(np.linalg.cond(x)) if x.shape[1] else 1.0
    return Fit(
        every_value, covariance, sigma_db, float(freedom), held, every_bound, weights, residuals, left_out, condition
    )


def _solve(x: Floats, y: Floats, weights: Floats, strength: Floats, mean: Floats, lowest: Floats) -> Floats:
    """Weighted least squares with priors as further rows, and bounds where the free solution breaks them."""
    root = np.sqrt(weights)
    rows, right = np.vstack([x * root[:, None], np.diag(strength)]), np.concatenate([y * root, strength * mean])
    found: Floats = np.linalg.lstsq(rows, right)[0]
    if (found < lowest).any():
        found = np.maximum(lsq_linear(rows, right, (lowest, np.inf), method="bvls", tol=1e-12).x, lowest)
    return found


def _leverage(x: Floats, weights: Floats, sigma_db: float, strength: Floats) -> Floats:
    """How much of each observation (n,) its own fitted value is made of, from 0 to just below 1."""
    inner = np.linalg.pinv(x.T * weights @ x + np.diag((sigma_db * strength) ** 2), hermitian=True)
    leverage: Floats = np.minimum(weights * np.einsum("ij,jk,ik->i", x, inner, x), 1 - 1e-9)
    return leverage


def _huber_weights(residuals: Floats, spread_db: Floats, is_robust: bool, censored: Booleans) -> Floats:
    if not is_robust:
        return np.ones(len(residuals))
    reach = HUBER_SIGMAS * spread_db
    weights: Floats = np.where(censored, 1.0, reach / np.maximum(np.abs(residuals), reach))
    return weights


def _true_for_normal(is_robust: bool) -> float:
    return _CUT_OFF_SQUARE if is_robust else 1.0


def _hidden(alpha: Floats, is_robust: bool) -> tuple[Floats, Floats, Floats]:
    """Of N(0, 1) known to lie above `alpha`: density there, mean and mean square.

    For a robust fit mean and mean square are those of the values cut off at HUBER_SIGMAS, as the seen ones are:
    only then do lost and seen readings balance, and the coefficients come out without bias.
    """
    hazard = _density(alpha) / np.exp(log_ndtr(-np.minimum(alpha, 30.0)))
    hazard = np.where(alpha < 30.0, hazard, alpha + 1 / np.maximum(alpha, 1.0))
    if not is_robust:
        return hazard, hazard, 1 + alpha * hazard
    cut, at = HUBER_SIGMAS, np.clip(alpha, -HUBER_SIGMAS, HUBER_SIGMAS)
    below, above = np.maximum(ndtr(-cut) - ndtr(alpha), 0.0), ndtr(-cut)
    all_of_it = ndtr(-np.minimum(alpha, cut))
    mean = (_density(at) - _density(cut) + cut * (above - below)) / all_of_it
    square = ndtr(cut) - ndtr(at) + at * _density(at) - cut * _density(cut) + cut**2 * (above + below)
    return hazard, mean, square / all_of_it


def _density(z: Floats | float) -> Floats:
    density: Floats = np.exp(-np.square(z) / 2) / np.sqrt(2 * np.pi)
    return density


def _information(
    x: Floats,
    residuals: Floats,
    weights: Floats,
    sigma_db: float,
    strength: Floats,
    censored: Booleans,
    priors: Priors,
    is_robust: bool,
) -> Floats:
    """Derivatives of the estimating equations: by the coefficients, and by log sigma where readings are censored.

    Without robust weights this is the Hessian of the negative log posterior.
    """
    alpha = residuals / sigma_db
    hazard, mean, square = _hidden(alpha, is_robust)
    cut_off = np.clip(alpha, -HUBER_SIGMAS, HUBER_SIGMAS) if is_robust else alpha
    bend = hazard * (mean - cut_off)
    by_values = x.T * np.where(censored, bend, weights) @ x / sigma_db**2 + np.diag(strength**2)
    if not censored.any():
        return by_values
    across = x.T @ np.where(censored, bend * alpha + mean, 2 * weights * alpha) / sigma_db
    spread = np.where(censored, alpha * hazard * (square - cut_off**2), 2 * (weights * alpha) ** 2)
    by_sigma = spread.sum() / _true_for_normal(is_robust)
    by_sigma += 2 * priors.sigma_worth * (priors.sigma_db / sigma_db) ** 2
    return np.block([[by_values, across[:, None]], [across[None, :], np.array([[by_sigma]])]])
