"""Physical constants and model constants: one line each, with unit and source."""

from typing import Final

from showplan.reference.region_rules import ERP_TO_EIRP_DB as ERP_TO_EIRP_DB

SPEED_OF_LIGHT_M_PER_S: Final = 299_792_458.0  # m/s, exact by definition of the metre (SI)
BOLTZMANN_J_PER_K: Final = 1.380649e-23  # J/K, exact by definition of the kelvin (SI)
VACUUM_PERMITTIVITY_F_PER_M: Final = 8.8541878128e-12  # F/m, CODATA 2018
NOISE_TEMPERATURE_K: Final = 290.0  # K, reference temperature T0 of noise figures

NEAREST_DISTANCE_M: Final = 1.0  # m, distances are clamped to it: far-field formulas end there
FLOOR_EXPONENT_B_COST231: Final = 0.46  # no unit, COST 231 multi-wall model, public source file
FLOOR_LOSS_DB_COST231: Final = 18.3  # dB per floor, COST 231 multi-wall model, public source file
POLARISATION_CAP_DB: Final = 20.0  # dB, reflections indoors fill the null; from memory (15 to 20 dB)
