"""The link budget: from transmit power to margin, and radiated power."""

from typing import Final

from showplan.physics.catalogue import Numeric, Source, formula
from showplan.physics.constants import ERP_TO_EIRP_DB
from showplan.physics.parameters import gain_parameter, level_parameter, loss_parameter, power_parameter

_BUDGET: Final = Source("link budget, sum of gains and losses in dB", standing="derived")


@formula(
    expression="P_r = P_t + G_t + G_r − L − L_other",
    parameters=(
        power_parameter("transmit_power_dbm", "power into the sending antenna"),
        gain_parameter("transmit_gain_dbi", "gain of the sending antenna"),
        gain_parameter("receive_gain_dbi", "gain of the receiving antenna"),
        level_parameter("path_loss_db", "path loss, walls and floors included"),
        level_parameter("other_losses_db", "body, polarisation, cable", default=0),
    ),
    result_unit="dBm",
    source=_BUDGET,
    validity="mean power; fading comes on top",
)
def received_power_dbm(
    transmit_power_dbm: Numeric,
    transmit_gain_dbi: Numeric,
    receive_gain_dbi: Numeric,
    path_loss_db: Numeric,
    other_losses_db: Numeric = 0,
) -> Numeric:
    """Mean received power in dBm. Losses are positive. Numbers or arrays that broadcast."""
    return transmit_power_dbm + transmit_gain_dbi + receive_gain_dbi - path_loss_db - other_losses_db


@formula(
    expression="M = P_r − P_min − M_fade",
    parameters=(
        power_parameter("received_power_dbm", "mean received power"),
        power_parameter("sensitivity_dbm", "power the receiver needs"),
        level_parameter("fade_margin_db", "reserve held back for fading", default=0),
    ),
    result_unit="dB",
    source=_BUDGET,
    validity="take the sensitivity of the real part, not the standard's minimum",
)
def link_margin_db(received_power_dbm: Numeric, sensitivity_dbm: Numeric, fade_margin_db: Numeric = 0) -> Numeric:
    """Margin in dB: received power minus what the receiver needs and the fade margin."""
    return received_power_dbm - sensitivity_dbm - fade_margin_db


@formula(
    expression="EIRP = P_t − L_cable + G",
    parameters=(
        power_parameter("transmit_power_dbm", "power out of the transmitter"),
        gain_parameter("antenna_gain_dbi", "gain of the antenna"),
        loss_parameter("cable_loss_db", "loss between transmitter and antenna", default=0),
    ),
    result_unit="dBm",
    source=_BUDGET,
    validity="in the direction of the antenna's greatest gain",
)
def eirp_dbm(transmit_power_dbm: Numeric, antenna_gain_dbi: Numeric, cable_loss_db: Numeric = 0) -> Numeric:
    """Power in dBm radiated as if by an isotropic antenna (EIRP)."""
    return transmit_power_dbm - cable_loss_db + antenna_gain_dbi


@formula(
    expression="EIRP = ERP + 2.15 dB",
    parameters=(power_parameter("erp_dbm", "power radiated as if by a half-wave dipole"),),
    result_unit="dBm",
    source=Source("gain of a half-wave dipole, 2.15 dBi", standing="memory"),
    validity="exact by convention",
)
def eirp_from_erp_dbm(erp_dbm: Numeric) -> Numeric:
    """EIRP in dBm from ERP in dBm (European limits are stated as ERP)."""
    return erp_dbm + ERP_TO_EIRP_DB
