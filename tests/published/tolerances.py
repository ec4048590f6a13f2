"""Named tolerances of the published-value tests."""

HUNDREDTH_DB = 0.01  # dB
LAST_PRINTED_DIGIT_DB = 0.0006  # dB, for figures printed to a thousandth
ONE_MILLIMETRE_M = 0.001  # m
TEN_MICROMETRES_M = 0.00001  # m
LAST_PRINTED_DIGIT = 0.0006  # for figures printed to a thousandth, whatever their unit
SIMULATED = 2e-5  # share, between a closed form and a ladder of some hundred cells
