"""Slow fading: how far the received power strays from its mean behind obstacles."""

from typing import Final

from scipy.special import ndtr

from showplan.physics.catalogue import Numeric, Parameter, Source, formula

_LOGNORMAL: Final = Source("Log-normal shadowing, textbook form P = Φ(M / σ)", standing="memory")


@formula(
    expression="P = Φ(M / σ)",
    parameters=(
        Parameter("margin_db", "dB", "mean received power above what is needed", low=-60, high=60),
        Parameter("shadowing_sigma_db", "dB", "standard deviation of the shadowing", low=2, high=12, above=0),
    ),
    result_unit="",
    source=_LOGNORMAL,
    validity="for the mean over some wavelengths; fast fading comes on top",
)
def lognormal_availability(margin_db: Numeric, shadowing_sigma_db: Numeric) -> Numeric:
    """Probability, 0 to 1, that a link with this mean margin closes. Numbers or arrays that broadcast."""
    probability: Numeric = ndtr(margin_db / shadowing_sigma_db)
    return probability
