"""Other radio: overlap of spectra, rejection, and the ratio that is left."""

from typing import Any, Final

import numpy as np

from showplan.physics.catalogue import Numeric, Parameter, Source, formula
from showplan.physics.decibels import add_powers_dbm
from showplan.physics.parameters import loss_parameter, power_parameter
from showplan.reference.interference import rejections

_WIDTH: Final[dict[str, Any]] = {"above": 0, "maximum": 1e4, "low": 0.1, "high": 160}
_SUM: Final = Source("sum of powers in mW", standing="derived")


def _centre(name: str, meaning: str) -> Parameter:
    return Parameter(name, "MHz", meaning, low=100, high=6000, above=0, maximum=1e6)


@formula(
    expression="s = |A ∩ B| / |B|, bands centre ± width / 2",
    parameters=(
        _centre("centre_a_mhz", "centre of the receiver's band"),
        Parameter("width_a_mhz", "MHz", "width of the receiver's band", **_WIDTH),
        _centre("centre_b_mhz", "centre of the other signal"),
        Parameter("width_b_mhz", "MHz", "width of the other signal", **_WIDTH),
    ),
    result_unit="",
    source=Source("share of a flat spectrum inside a band", standing="derived"),
    validity="flat spectra with steep edges: side lobes of a near, strong sender still reach past a share of 0",
)
def overlap_share(centre_a_mhz: Numeric, width_a_mhz: Numeric, centre_b_mhz: Numeric, width_b_mhz: Numeric) -> Numeric:
    """Share, 0 to 1, of the other signal's (b) power that falls into the receiver's band (a).

    Widths > 0. Numbers or arrays that broadcast.
    """
    low = np.maximum(centre_a_mhz - width_a_mhz / 2, centre_b_mhz - width_b_mhz / 2)
    high = np.minimum(centre_a_mhz + width_a_mhz / 2, centre_b_mhz + width_b_mhz / 2)
    share: Numeric = np.clip((high - low) / width_b_mhz, 0.0, 1.0)
    return share


@formula(
    expression="0 dB up to 10 MHz, 30 dB from 10 MHz on",
    parameters=(Parameter("offset_mhz", "MHz", "between the two radio channels", None, -75, 75, -1e4, 1e4),),
    result_unit="dB",
    source=Source("IEEE 802.15.4, jamming resistance of the 2450 MHz PHY", standing="memory"),
    validity="2450 MHz O-QPSK against its like, wanted signal 3 dB above sensitivity; the least the standard asks: "
    "real parts reach some 30 dB at 5 MHz and 48 dB at 10 MHz",
)
def required_rejection_db(offset_mhz: Numeric) -> Numeric:
    """Rejection in dB of another radio channel that every receiver must have, by distance in MHz."""
    total = np.zeros(np.shape(offset_mhz))
    for row in rejections():
        total = np.where(np.abs(offset_mhz) >= row.offset_mhz, row.required_db, total)
    rejection: Numeric = total[()]
    return rejection


@formula(
    expression="I' = I − R + 10 log₁₀(s)",
    parameters=(
        power_parameter("interference_dbm", "power of the other signal at the antenna"),
        loss_parameter("rejection_db", "how much the receiver suppresses it"),
        Parameter("overlap_share", "", "share of its power in the receiver's band", 1, 1e-6, 1, maximum=1, above=0),
    ),
    result_unit="dBm",
    source=_SUM,
    validity="below the level at which the receiver's input overloads",
)
def interference_after_rejection_dbm(
    interference_dbm: Numeric, rejection_db: Numeric, overlap_share: Numeric = 1
) -> Numeric:
    """Power in dBm with which another signal counts against the wanted one. Arrays broadcast.

    In arrays a share of 0 gives minus infinity: no power.
    """
    with np.errstate(divide="ignore"):
        counted: Numeric = interference_dbm - rejection_db + 10 * np.log10(overlap_share)
    return counted


@formula(
    expression="SINR = P_r − 10 log₁₀(10^(N/10) + 10^(I/10))",
    parameters=(
        power_parameter("received_dbm", "power of the wanted signal"),
        power_parameter("noise_dbm", "noise in the receiver's band"),
        power_parameter("interference_dbm", "sum of the interference that counts"),
    ),
    result_unit="dB",
    source=_SUM,
    validity="interference that adds like noise; bursts hit single packets instead: use their share of time",
)
def sinr_db(received_dbm: Numeric, noise_dbm: Numeric, interference_dbm: Numeric) -> Numeric:
    """Signal in dB over the sum of noise and interference; minus infinity dBm counts as none. Arrays broadcast."""
    return received_dbm - add_powers_dbm(noise_dbm, interference_dbm)
