"""From signal-to-noise ratio to bit and packet errors."""

from typing import Final

import numpy as np
from scipy.special import comb, ndtr

from showplan.physics.catalogue import Numeric, Parameter, Source, formula

_ORDERS: Final = np.arange(2, 17)  # k of the sum over the 16 symbols
_SIGNED_COMBINATIONS: Final = (-1.0) ** _ORDERS * comb(16, _ORDERS)
_SEARCH_DB: Final = (-60.0, 20.0)  # dB, bit error rate from 0.5 to below the smallest float
_HALVINGS: Final = 60  # of the search interval: 80 dB / 2^60

_SINR_DB: Final = Parameter("sinr_db", "dB", "signal over noise and interference", None, -20, 30, -300, 300)
_EBN0_DB: Final = Parameter("ebn0_db", "dB", "energy of a bit over noise density", None, -20, 30, -300, 300)
_OCTETS: Final = Parameter("octets", "", "length of the packet", None, 1, 133, 1, 10_000, whole_number=True)
_WANTED_RATE: Final = Parameter(
    "packet_error_rate", "", "share of packets lost, 0.01 for the standard's sensitivity", None, 1e-6, 0.9, 1e-9, 0.99
)
_OQPSK: Final = Source(
    "IEEE 802.15.4-2006, clause E.4.1.8 equation (7)", section="formula read in public source files", standing="read"
)
_IDEAL: Final = "noise alone, perfect synchronisation; real parts need 0 to 10 dB more"


def _oqpsk(sinr_db: Numeric) -> Numeric:
    ratio = 10.0 ** (np.asarray(sinr_db, dtype=np.float64) / 10)
    terms = _SIGNED_COMBINATIONS * np.exp(20 * ratio[..., None] * (1 / _ORDERS - 1))
    rate: Numeric = np.clip(8 / 15 / 16 * terms.sum(axis=-1), 0.0, 0.5)[()]
    return rate


@formula(
    expression="BER = (8/15) (1/16) Σ_{k=2..16} (−1)^k C(16, k) e^(20 s (1/k − 1)), s linear",
    parameters=(_SINR_DB,),
    result_unit="",
    source=_OQPSK,
    validity=f"2450 MHz O-QPSK PHY, SINR in 2 MHz: {_IDEAL}",
)
def oqpsk_bit_error_rate(sinr_db: Numeric) -> Numeric:
    """Bit error rate, 0 to 0.5, of the 2.4 GHz O-QPSK PHY with its 32-chip spreading. Any shape."""
    return _oqpsk(sinr_db)


@formula(
    expression="BER as for 2450 MHz O-QPSK",
    parameters=(_SINR_DB,),
    result_unit="",
    source=Source("IEEE 802.15.4-2006 clause E.4.1.8, carried over to 868 and 915 MHz (assumption)", standing="memory"),
    validity=f"an assumption: these PHYs spread by 16 chips, not 32, so it may be up to 3 dB too good; {_IDEAL}",
)
def sub_ghz_oqpsk_bit_error_rate(sinr_db: Numeric) -> Numeric:
    """Bit error rate, 0 to 0.5, assumed for the 868 and 915 MHz O-QPSK PHYs. Any shape."""
    return _oqpsk(sinr_db)


@formula(
    expression="BER = ½ e^(−E_b/N₀)",
    parameters=(_EBN0_DB,),
    result_unit="",
    source=Source("differential detection of binary phase shift keying, textbook form", standing="memory"),
    validity=f"868 and 915 MHz BPSK PHYs: {_IDEAL}",
)
def bpsk_bit_error_rate(ebn0_db: Numeric) -> Numeric:
    """Bit error rate, 0 to 0.5, of BPSK with differential detection, as the sub-GHz PHYs use it."""
    rate: Numeric = 0.5 * np.exp(-(10.0 ** (np.asarray(ebn0_db) / 10)))
    return rate


@formula(
    expression="BER = ½ e^(−E_b / (2 N₀))",
    parameters=(_EBN0_DB,),
    result_unit="",
    source=Source("frequency shift keying without carrier recovery, textbook form", standing="memory"),
    validity=f"SUN FSK and PHYs of the crew's own, whose modulation is not known: {_IDEAL}",
)
def fsk_bit_error_rate(ebn0_db: Numeric) -> Numeric:
    """Bit error rate, 0 to 0.5, of two-tone frequency shift keying with an envelope detector."""
    rate: Numeric = 0.5 * np.exp(-(10.0 ** (np.asarray(ebn0_db) / 10)) / 2)
    return rate


@formula(
    expression="BER = Q(√(2 E_b/N₀))",
    parameters=(_EBN0_DB,),
    result_unit="",
    source=Source("coherent binary phase shift keying, textbook form", standing="memory"),
    validity="bound that no receiver of these PHYs betters: they detect differentially",
)
def coherent_bpsk_bit_error_rate(ebn0_db: Numeric) -> Numeric:
    """Bit error rate, 0 to 0.5, of ideal coherent BPSK, to compare with."""
    rate: Numeric = ndtr(-np.sqrt(2 * 10.0 ** (np.asarray(ebn0_db) / 10)))
    return rate


@formula(
    expression="PER = 1 − (1 − BER)^(8 n)",
    parameters=(Parameter("bit_error_rate", "", "share of bits in error", None, 0, 0.5, 0, 0.5), _OCTETS),
    result_unit="",
    source=Source("independent bit errors, no error correction", standing="derived"),
    validity="every octet must arrive; interference comes in bursts and is then less evenly spread",
)
def packet_error_rate(bit_error_rate: Numeric, octets: Numeric) -> Numeric:
    """Share of packets, 0 to 1, with at least one wrong bit. Numbers or arrays that broadcast."""
    rate: Numeric = -np.expm1(8 * np.asarray(octets) * np.log1p(-np.asarray(bit_error_rate)))
    return rate + 0.0


@formula(
    expression="SINR with PER(BER(SINR), n) = PER",
    parameters=(_WANTED_RATE, _OCTETS),
    result_unit="dB",
    source=_OQPSK,
    validity=f"2450 MHz O-QPSK PHY, SINR in 2 MHz: {_IDEAL}",
)
def required_sinr_db(packet_error_rate: Numeric, octets: Numeric) -> Numeric:
    """SINR in dB at which this share of packets of this length is lost on the 2.4 GHz O-QPSK PHY.

    octets >= 1. Numbers or arrays that broadcast.
    """
    wanted = _bit_error_rate(packet_error_rate, octets)
    low, high = (np.full(np.shape(wanted), limit) for limit in _SEARCH_DB)
    for _ in range(_HALVINGS):
        middle = (low + high) / 2
        too_many = _oqpsk(middle) > wanted
        low, high = np.where(too_many, middle, low), np.where(too_many, high, middle)
    required: Numeric = high[()]
    return required


@formula(
    expression="E_b/N₀ = 10 log₁₀(−ln(2 BER)), BER = 1 − (1 − PER)^(1/(8 n))",
    parameters=(_WANTED_RATE, _OCTETS),
    result_unit="dB",
    source=Source("differential detection of binary phase shift keying, textbook form", standing="memory"),
    validity=f"868 and 915 MHz BPSK PHYs: {_IDEAL}",
)
def required_bpsk_ebn0_db(packet_error_rate: Numeric, octets: Numeric) -> Numeric:
    """Energy of a bit over noise density in dB at which this share of BPSK packets is lost. octets >= 1."""
    required: Numeric = 10 * np.log10(-np.log(2 * _bit_error_rate(packet_error_rate, octets)))
    return required


@formula(
    expression="E_b/N₀ = 10 log₁₀(−2 ln(2 BER)), BER = 1 − (1 − PER)^(1/(8 n))",
    parameters=(_WANTED_RATE, _OCTETS),
    result_unit="dB",
    source=Source("frequency shift keying without carrier recovery, textbook form", standing="memory"),
    validity=f"SUN FSK and PHYs of the crew's own, whose modulation is not known: {_IDEAL}",
)
def required_fsk_ebn0_db(packet_error_rate: Numeric, octets: Numeric) -> Numeric:
    """Energy of a bit over noise density in dB at which this share of FSK packets is lost. octets >= 1."""
    required: Numeric = 10 * np.log10(-2 * np.log(2 * _bit_error_rate(packet_error_rate, octets)))
    return required


def _bit_error_rate(packet_error_rate: Numeric, octets: Numeric) -> Numeric:
    rate: Numeric = -np.expm1(np.log1p(-np.asarray(packet_error_rate)) / (8 * np.asarray(octets)))
    return rate
