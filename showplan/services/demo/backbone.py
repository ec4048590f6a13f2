"""Gateways and relays of the demo."""

from showplan.services.demo.devices import Device, SupplyPlan, battery, mains
from showplan.services.demo.node_types import BACKBONE, MAIN_NETWORK, SCENERY_NETWORK, SCENIC_BACKBONE
from showplan.services.demo.people import COSTUME_CREW, SCENIC_CREW

GATEWAY = "Main gateway"
RELAYS = ("Relay A", "Relay B", "Relay C", "Relay D")
SCENERY_GATEWAY = "Scenery gateway"
SCENERY_RELAY = "Scenery relay"

_FIRST_RELAY_ADDRESS = 0x0010


def backbone() -> list[Device]:
    """Two gateways, four relays of the main network, one of the scenery network."""
    return [
        Device(GATEWAY, "gateway", BACKBONE, MAIN_NETWORK, COSTUME_CREW, 0, mains(24.0)),
        *(
            Device(
                label,
                "relay",
                BACKBONE,
                MAIN_NETWORK,
                COSTUME_CREW,
                _FIRST_RELAY_ADDRESS + number,
                _relay_supply(label),
            )
            for number, label in enumerate(RELAYS)
        ),
        Device(SCENERY_GATEWAY, "gateway", SCENIC_BACKBONE, SCENERY_NETWORK, SCENIC_CREW, 0, mains(24.0)),
        Device(
            SCENERY_RELAY, "relay", SCENIC_BACKBONE, SCENERY_NETWORK, SCENIC_CREW, _FIRST_RELAY_ADDRESS, mains(24.0)
        ),
    ]


def _relay_supply(label: str) -> SupplyPlan:
    # The last two go where no mains is, in every venue.
    if label in RELAYS[2:]:
        return battery("li-ion", 3, 5.2, milliohms=110, limit_a=5.0)
    return mains(24.0)
