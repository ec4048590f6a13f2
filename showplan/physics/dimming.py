"""Dimming by switching on and off (PWM)."""

from typing import Final

import numpy as np

from showplan.physics.catalogue import Numeric, Source, formula
from showplan.physics.electrical import CURRENT_A, DUTY, not_negative, positive

_PWM: Final = Source("rectangular current", standing="derived")


@formula(
    expression="I_mean = D I",
    parameters=(CURRENT_A, DUTY),
    result_unit="A",
    source=_PWM,
    validity="what the battery delivers; I is the current while it is on",
)
def pwm_mean_a(current_a: Numeric, duty: Numeric) -> Numeric:
    """Mean current in A of a dimmed load. Numbers or arrays that broadcast."""
    mean: Numeric = np.asarray(current_a, float) * duty
    return mean


@formula(
    expression="I_rms = √D I",
    parameters=(CURRENT_A, DUTY),
    result_unit="A",
    source=_PWM,
    validity="what heats fuse and cable; the voltage drop while it is on is that of the full current",
)
def pwm_rms_a(current_a: Numeric, duty: Numeric) -> Numeric:
    """Root mean square current in A of a dimmed load. Numbers or arrays that broadcast."""
    rms: Numeric = np.asarray(current_a, float) * np.sqrt(duty)
    return rms


@formula(
    expression="P = D I² R",
    parameters=(CURRENT_A, DUTY, not_negative("loop_ohm", "Ω", "resistance there and back", 10)),
    result_unit="W",
    source=_PWM,
    validity="mean heat",
)
def pwm_cable_w(current_a: Numeric, duty: Numeric, loop_ohm: Numeric) -> Numeric:
    """Heat in W of the cable of a dimmed load. Numbers or arrays that broadcast."""
    watts: Numeric = np.asarray(current_a, float) ** 2 * np.asarray(duty, float) * loop_ohm
    return watts


@formula(
    expression="m = 100 (L_max − L_min) / (L_max + L_min)",
    parameters=(
        positive("most_light", "", "most light in a cycle", 0.01, 1),
        not_negative("least_light", "", "least light in a cycle; 0 for PWM", 1, 0),
    ),
    result_unit="%",
    source=Source("percent flicker, also called modulation", section="from memory"),
    validity="any light that repeats; PWM down to nothing has 100 % at every level but full",
)
def modulation_percent(most_light: Numeric, least_light: Numeric = 0) -> Numeric:
    """Modulation of light in percent. Numbers or arrays that broadcast."""
    most, least = np.asarray(most_light, float), np.asarray(least_light, float)
    modulation: Numeric = 100 * (most - least) / (most + least)
    return modulation


@formula(
    expression="F = 1 − D",
    parameters=(DUTY,),
    result_unit="",
    source=Source("flicker index: light above the mean over all light", section="from memory"),
    validity="PWM down to nothing; 0 where it is always on or always off",
)
def pwm_flicker_index(duty: Numeric) -> Numeric:
    """Flicker index of a load dimmed by PWM. Numbers or arrays that broadcast."""
    on = np.asarray(duty, float)
    index: Numeric = np.where(on > 0, 1 - on, 0.0)[()]
    return index


@formula(
    expression="m = min(100, 0.025 f) below 90 Hz, min(100, 0.08 f) from there on",
    parameters=(positive("frequency_hz", "Hz", "frequency of dimming", 50, 20_000),),
    result_unit="%",
    source=Source("IEEE 1789-2015", section="low risk, from memory"),
    validity="PWM passes from 1250 Hz on; cameras may need more",
)
def low_risk_modulation_percent(frequency_hz: Numeric) -> Numeric:
    """Modulation in percent up to which flicker is of low risk. Numbers or arrays that broadcast."""
    hertz = np.asarray(frequency_hz, float)
    limit: Numeric = np.minimum(100, np.where(hertz < 90, 0.025, 0.08) * hertz)[()]
    return limit
