"""Bit and packet errors of IEEE 802.15.4 radios in noise, and the sensitivity that follows."""

import numpy as np
import pytest

from showplan.physics.catalogue import catalogue
from showplan.physics.error_rate import (
    bpsk_bit_error_rate,
    coherent_bpsk_bit_error_rate,
    fsk_bit_error_rate,
    oqpsk_bit_error_rate,
    packet_error_rate,
    required_bpsk_ebn0_db,
    required_fsk_ebn0_db,
    required_sinr_db,
    sub_ghz_oqpsk_bit_error_rate,
)
from showplan.physics.noise import thermal_noise_dbm
from tests.published.tolerances import HUNDREDTH_DB, LAST_PRINTED_DIGIT_DB

SIX_DIGITS = 1e-5  # relative, for figures printed to six or seven digits
FOUR_DIGITS = 5e-4  # relative, for figures printed to four digits
TRUNCATED = 0.01  # relative, for figures cut off after three digits


@pytest.mark.parametrize(
    ("sinr_db", "bit_rate", "per_20", "per_133"),
    # IEEE 802.15.4-2006 E.4.1.8 equation (7); a public network simulator's error model gives the same bit
    # error rates and the same figures for 133 octets
    [
        (-5, 7.517156e-2, 0.9999963, 1),
        (-3, 1.641864e-2, 0.929263, 1),
        (-2, 5.197000e-3, 0.565556, 0.996089),
        (-1, 1.148944e-3, 0.168012, 0.705707),
        (0, 1.615267e-4, 0.0255152, 0.157918),
        (1, 1.291187e-5, 0.00206378, 0.0136444),
        (2, 5.131392e-7, 8.20989e-5, 5.45831e-4),
    ],
)
def test_oqpsk(sinr_db, bit_rate, per_20, per_133):
    computed = oqpsk_bit_error_rate(sinr_db)
    assert computed == pytest.approx(bit_rate, rel=SIX_DIGITS)
    assert packet_error_rate(computed, 20) == pytest.approx(per_20, rel=SIX_DIGITS)
    assert packet_error_rate(computed, 133) == pytest.approx(per_133, rel=SIX_DIGITS)


@pytest.mark.parametrize(
    ("sinr_db", "read", "computed"),
    # left: expected values in the tests of a public network simulator (three digits, cut off)
    [
        (5, 7.38e-14, 7.386e-14),
        (2, 5.13e-7, 5.131e-7),
        (-1, 0.00114, 0.001149),
        (-4, 0.0391, 0.03916),
        (-7, 0.175, 0.1752),
    ],
)
def test_oqpsk_against_a_simulators_tests(sinr_db, read, computed):
    assert oqpsk_bit_error_rate(sinr_db) == pytest.approx(read, rel=TRUNCATED)
    assert oqpsk_bit_error_rate(sinr_db) == pytest.approx(computed, rel=FOUR_DIGITS)


@pytest.mark.parametrize(("octets", "sinr_db"), [(20, 0.4035), (127, 1.0924), (133, 1.1082)])
def test_sinr_for_one_percent(octets, sinr_db):
    # derived from equation (7); the standard states sensitivity for 20 octets and 1 %
    required = required_sinr_db(0.01, octets)
    assert required == pytest.approx(sinr_db, abs=LAST_PRINTED_DIGIT_DB)
    assert packet_error_rate(oqpsk_bit_error_rate(required), octets) == pytest.approx(0.01, rel=SIX_DIGITS)


@pytest.mark.parametrize(("noise_figure_db", "sensitivity_dbm"), [(0, -110.561), (6, -104.561)])
def test_ideal_sensitivity(noise_figure_db, sensitivity_dbm):
    # derived; parts on the market reach -95 to -104 dBm (data sheets), the standard asks for -85
    computed = thermal_noise_dbm(2, noise_figure_db) + required_sinr_db(0.01, 20)
    assert computed == pytest.approx(sensitivity_dbm, abs=LAST_PRINTED_DIGIT_DB)


def test_bpsk():
    # textbook forms, from memory
    assert bpsk_bit_error_rate(8) == pytest.approx(9.094e-4, rel=FOUR_DIGITS)
    assert coherent_bpsk_bit_error_rate(9.6) == pytest.approx(9.736e-6, rel=FOUR_DIGITS)


@pytest.mark.parametrize(("bit_rate_mhz", "sensitivity_dbm"), [(0.020, -115.43), (0.040, -112.42)])
def test_bpsk_sensitivity(bit_rate_mhz, sensitivity_dbm):
    # differential detection, from memory: E_b/N_0 for 1 % of 20 octets, noise figure 6 dB
    required_db = required_bpsk_ebn0_db(0.01, 20)
    assert required_db == pytest.approx(9.534, abs=LAST_PRINTED_DIGIT_DB)
    assert thermal_noise_dbm(bit_rate_mhz, 6) + required_db == pytest.approx(sensitivity_dbm, abs=HUNDREDTH_DB)


def test_the_assumption_for_sub_ghz_stays_marked():
    # no published formula at hand: the 2.4 GHz one is carried over, from memory
    entry = catalogue()["sub_ghz_oqpsk_bit_error_rate"]
    assert entry.source.standing == "memory"
    assert "assumption" in entry.validity
    sinr_db = np.linspace(-10, 5, 31)
    assert (sub_ghz_oqpsk_bit_error_rate(sinr_db) == oqpsk_bit_error_rate(sinr_db)).all()


def test_frequency_shift_keying():
    # textbook, from memory: an envelope detector needs 3 dB more than differential phase shift keying
    ebn0_db = np.linspace(0, 12, 7)
    assert fsk_bit_error_rate(ebn0_db + 10 * np.log10(2)) == pytest.approx(bpsk_bit_error_rate(ebn0_db))
    three_db = 10 * np.log10(2)
    assert required_fsk_ebn0_db(0.01, 20) == pytest.approx(required_bpsk_ebn0_db(0.01, 20) + three_db)
