"""Rayleigh, Rice and log-normal fading (textbook forms, from memory) and their mixture (derived)."""

import itertools

import numpy as np
import pytest
from scipy import stats
from scipy.integrate import quad

from showplan.physics.fading import (
    availability,
    combined_sigma_db,
    diversity_outage,
    fading_margin_db,
    margin_quantile_db,
    rayleigh_margin_db,
    rayleigh_outage,
    rice_outage,
)
from showplan.physics.shadowing import lognormal_availability
from tests.published.tolerances import LAST_PRINTED_DIGIT_DB

SIXTH_PLACE = 0.0000006  # probability, for figures printed to six places
FIFTH_PLACE = 0.000006  # probability, for figures printed to five places
QUADRATURE = 1e-7  # probability, agreement with adaptive integration


@pytest.mark.parametrize(
    ("margin_db", "outage", "short_form"),
    # Rayleigh, from memory: 1 - exp(-10^(-M/10)) and its short form 10^(-M/10)
    [
        (3, 0.394189, 0.501187),
        (5, 0.271107, 0.316228),
        (10, 0.095163, 0.1),
        (15, 0.031128, 0.031623),
        (20, 0.009950, 0.01),
        (30, 0.001000, 0.001),
    ],
)
def test_rayleigh(margin_db, outage, short_form):
    assert rayleigh_outage(margin_db) == pytest.approx(outage, abs=SIXTH_PLACE)
    assert rice_outage(margin_db, -100) == pytest.approx(outage, abs=SIXTH_PLACE)
    assert 10 ** (-margin_db / 10) == pytest.approx(short_form, abs=SIXTH_PLACE)


@pytest.mark.parametrize(("outage", "margin_db"), [(0.1, 9.773), (0.05, 12.899), (0.01, 19.978), (0.001, 29.998)])
def test_rayleigh_margin(outage, margin_db):
    # Rayleigh, from memory; 10 dB for 10 % is only the short form
    assert rayleigh_margin_db(outage) == pytest.approx(margin_db, abs=LAST_PRINTED_DIGIT_DB)
    assert fading_margin_db(outage, 0) == pytest.approx(margin_db, abs=LAST_PRINTED_DIGIT_DB)


@pytest.mark.parametrize(
    ("rice_factor_db", "outages"),
    # Rice outage for margins of 5, 10, 20 dB, textbook form from memory
    [(6, (0.100786, 0.016465, 0.000999)), (10, (0.023813, 0.000739, 0.000008)), (0, (0.226367, 0.073346, 0.007357))],
)
def test_rice(rice_factor_db, outages):
    margins_db = np.array([5.0, 10.0, 20.0])
    assert rice_outage(margins_db, rice_factor_db) == pytest.approx(np.array(outages), abs=SIXTH_PLACE)


@pytest.mark.parametrize("rice_factor_db", [-20.0, 0.0, 6.0, 15.0])
def test_rice_against_the_amplitude_distribution(rice_factor_db):
    # second opinion: scipy's Rice distribution of the amplitude
    factor = 10 ** (rice_factor_db / 10)
    margins_db = np.linspace(-10, 30, 41)
    amplitudes = np.sqrt(2 * (1 + factor) * 10 ** (-margins_db / 10))
    expected = stats.rice.cdf(amplitudes, np.sqrt(2 * factor))
    assert rice_outage(margins_db, rice_factor_db) == pytest.approx(expected, abs=SIXTH_PLACE)


@pytest.mark.parametrize(
    ("margin_db", "sigma_db", "outage"),
    # Rayleigh on top of log-normal, integrated numerically (derived)
    [(10, 4, 0.13095), (20, 4, 0.01502), (20, 8, 0.04113), (30, 8, 0.00516)],
)
def test_rayleigh_with_shadowing(margin_db, sigma_db, outage):
    assert 1 - availability(margin_db, sigma_db) == pytest.approx(outage, abs=FIFTH_PLACE)
    assert fading_margin_db(outage, sigma_db) == pytest.approx(margin_db, abs=0.01)
    assert margin_quantile_db(margin_db, 1 - outage, sigma_db) == pytest.approx(0, abs=0.01)


@pytest.mark.parametrize("margin_db", [-5.0, 3.0, 12.0, 25.0])
@pytest.mark.parametrize(("sigma_db", "rice_factor_db"), [(4, -100), (12, -100), (8, 6), (10, 15), (0.5, 20)])
def test_mixture_against_adaptive_integration(margin_db, sigma_db, rice_factor_db):
    # second opinion: scipy's quad over the normal density, with breaks around the steep part
    def integrand(z):
        return stats.norm.pdf(z) * float(rice_outage(margin_db + sigma_db * z, rice_factor_db))

    steep = float(np.clip(-margin_db / sigma_db, -7, 7))
    parts = (-9, max(steep - 1, -8.5), steep, min(steep + 1, 8.5), 9)
    expected = sum(quad(integrand, a, b, epsabs=1e-10, limit=200)[0] for a, b in itertools.pairwise(parts))
    assert 1 - availability(margin_db, sigma_db, rice_factor_db) == pytest.approx(expected, abs=QUADRATURE)


@pytest.mark.parametrize(
    ("sigma_db", "margins_db"),
    # log-normal margins for 90, 95, 99, 99.9 % (z 1.2816, 1.6449, 2.3263, 3.0902): textbook form, from memory
    [(3.76, (4.819, 6.185, 8.747, 11.619)), (8, (10.252, 13.159, 18.611, 24.722))],
)
def test_a_strong_steady_wave_leaves_the_shadowing(sigma_db, margins_db):
    for margin_db, share in zip(margins_db, (0.90, 0.95, 0.99, 0.999), strict=True):
        # Rice fading of 30 dB spreads by 0.2 dB: next to nothing beside the shadowing
        assert availability(margin_db, sigma_db, 30) == pytest.approx(share, abs=0.0005)


def test_outage_of_the_textbook_link():
    # "Wireless Communications", 2005, example 2.5 (from memory): -112.273 dBm at 150 m for 0 dBm sent
    assert lognormal_availability(10 - 112.273 + 110.5, 3.65) == pytest.approx(1 - 0.01210, abs=FIFTH_PLACE)


def test_two_antennas():
    # derived: two independent Rayleigh branches at 10 dB
    assert diversity_outage(rayleigh_outage(10), 2) == pytest.approx(0.009056, abs=SIXTH_PLACE)


def test_sigmas_add_as_squares():
    # read in a simulator's documentation; its defaults: 7 dB outdoors and 5 dB through an external wall
    assert combined_sigma_db(7, 5) == pytest.approx(8.602, abs=LAST_PRINTED_DIGIT_DB)
