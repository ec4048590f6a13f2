"""How much current a lead may carry, and how warm it gets."""

from typing import Final

import numpy as np

from showplan.physics.catalogue import Numeric, Parameter, Source, formula
from showplan.physics.electrical import AMBIENT_C, CURRENT_A, not_negative, positive, positive_share

TABLE_AMBIENT_C: Final = 30.0  # °C, ambient temperature of the currents in BS 7671 Table 4F3A

_CIRCULAR_MIL_MM2: Final = np.pi / 4 * 0.0254**2  # mm2, area of a wire one thousandth of an inch thick
_LIMIT_C: Final = Parameter(
    "limit_c", "°C", "temperature that the insulation stands", 60, 55, 110, above=30, maximum=300
)
_HEAT: Final = Source("heat grows with the square of the current", standing="derived")


@formula(
    expression="f = √((T_max − T_a) / (T_max − 30)), at most 1, 0 from T_max on",
    parameters=(AMBIENT_C, _LIMIT_C),
    result_unit="",
    source=Source("BS 7671", section="factors for 60 °C cords follow it within 0.01; form derived", standing="derived"),
    validity="currents tabulated at 30 °C; cooler air gives no bonus",
)
def ambient_factor(ambient_c: Numeric, limit_c: Numeric = 60) -> Numeric:
    """Share of its tabulated current that a cord may carry in warm air. Numbers or arrays that broadcast."""
    limit = np.asarray(limit_c, float)
    factor: Numeric = np.sqrt(np.clip((limit - ambient_c) / (limit - TABLE_AMBIENT_C), 0, 1))
    return factor


@formula(
    expression="I_z = I_t f_a f_g",
    parameters=(
        not_negative("table_a", "A", "current of the table", 100),
        Parameter("ambient_factor", "", "factor for the ambient temperature", 1, 0, 1, 0, 2),
        positive_share("grouping_factor", "factor for loaded cables side by side", 1),
    ),
    result_unit="A",
    source=Source("IEC 60364-5-52", section="factors multiply; from memory"),
    validity="leads under a costume: grouped, and at 40 °C at least",
)
def ampacity_a(table_a: Numeric, ambient_factor: Numeric = 1, grouping_factor: Numeric = 1) -> Numeric:
    """Current in A that a lead may carry for long. Numbers or arrays that broadcast."""
    current: Numeric = np.asarray(table_a, float) * ambient_factor * grouping_factor
    return current


@formula(
    expression="T = T_a + (T_max − 30) (I / (f_g I_t))²",
    parameters=(
        CURRENT_A,
        positive("table_a", "A", "current of the table", 0.5, 100),
        AMBIENT_C,
        positive_share("grouping_factor", "factor for loaded cables side by side", 1),
        _LIMIT_C,
    ),
    result_unit="°C",
    source=_HEAT,
    validity="after long time; an estimate, best near the tabulated current",
)
def loaded_conductor_c(
    current_a: Numeric, table_a: Numeric, ambient_c: Numeric, grouping_factor: Numeric = 1, limit_c: Numeric = 60
) -> Numeric:
    """Temperature in °C of a conductor that carries a current for long. Numbers or arrays that broadcast."""
    share = np.asarray(current_a, float) / (np.asarray(table_a, float) * grouping_factor)
    warm_c: Numeric = ambient_c + (np.asarray(limit_c, float) - TABLE_AMBIENT_C) * share**2
    return warm_c


@formula(
    expression="I = A / 700, A in circular mil",
    parameters=(positive("area_mm2", "mm²", "cross-section", 0.01, 100),),
    result_unit="A",
    source=Source("electronics handbook", section="column 'power transmission' of its wire table", standing="read"),
    validity="a workshop rule for long bundled runs; for information only",
)
def transmission_rule_a(area_mm2: Numeric) -> Numeric:
    """Current in A by the rule of 700 circular mil for each ampere. Numbers or arrays that broadcast."""
    current: Numeric = np.asarray(area_mm2, float) / _CIRCULAR_MIL_MM2 / 700
    return current
