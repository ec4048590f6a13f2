"""Mains supplies: how much of one to use."""

import numpy as np

from showplan.physics.catalogue import Numeric, Source, formula
from showplan.physics.electrical import not_negative, positive_share


@formula(
    expression="P = P_load / s",
    parameters=(
        not_negative("load_w", "W", "power of the loads", 1000),
        positive_share("used_share", "share of the supply that may be used for long", 0.8),
    ),
    result_unit="W",
    source=Source("seller's page on LED tape", section="80 % rule", standing="read"),
    validity="a rule of thumb; another page adds 10 %",
)
def supply_wanted_w(load_w: Numeric, used_share: Numeric = 0.8) -> Numeric:
    """Least rating in W of a supply for a load. Numbers or arrays that broadcast."""
    wanted: Numeric = np.asarray(load_w, float) / used_share
    return wanted
