"""First Fresnel radius at mid-path (ITU-R P.526; form read in a public source file)."""

import pytest

from showplan.physics.fresnel import fresnel_radius_m
from tests.published.tolerances import ONE_MILLIMETRE_M

PATHS_M = (10, 30, 100, 300)
# MHz: radii in m at the middle of PATHS_M
MID_PATH_RADIUS_M = {
    868: (0.929, 1.609, 2.938, 5.090),
    915: (0.905, 1.568, 2.862, 4.957),
    2440: (0.554, 0.960, 1.753, 3.036),
}


@pytest.mark.parametrize("frequency_mhz", MID_PATH_RADIUS_M)
def test_mid_path_radius(frequency_mhz):
    for path_m, radius_m in zip(PATHS_M, MID_PATH_RADIUS_M[frequency_mhz], strict=True):
        computed = fresnel_radius_m(path_m / 2, path_m / 2, frequency_mhz)
        assert computed == pytest.approx(radius_m, abs=ONE_MILLIMETRE_M)


@pytest.mark.parametrize(("frequency_mhz", "clearance_m"), [(868, 1.763), (915, 1.717), (2440, 1.052)])
def test_sixty_percent_clearance_of_100_m(frequency_mhz, clearance_m):
    # 60 % rule from memory
    computed = 0.6 * fresnel_radius_m(50, 50, frequency_mhz)
    assert computed == pytest.approx(clearance_m, abs=ONE_MILLIMETRE_M)
