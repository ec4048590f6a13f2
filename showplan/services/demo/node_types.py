"""The five sorts of radio hardware of the demo, and its two networks."""

from showplan.records.models import Network, NodeType, Project
from showplan.services.demo.identity import key

BACKBONE = "Backbone node 2.4 GHz"
WORN = "Worn receiver, six outputs"
PROP = "Prop receiver, four outputs"
SCENIC_BACKBONE = "Backbone node 915 MHz"
SCENIC = "Scenic receiver 915 MHz, eight outputs"

MAIN_NETWORK = "Main"
SCENERY_NETWORK = "Scenery"

_FIELDS = (
    "phy",
    "transmit_power_dbm",
    "antenna_gain_dbi",
    "cable_loss_db",
    "sensitivity_dbm",
    "outputs",
    "output_limit_a",
    "standing_current_ma",
)
# Plausible figures of small 802.15.4 modules; a crew puts those of its own hardware. A worn antenna is short and
# close to cloth and skin, hence the negative gain.
_TYPES: dict[str, tuple[str | float | None, ...]] = {
    BACKBONE: ("oqpsk-2450", 8.0, 2.0, 0.5, -100.0, 0, None, 85.0),
    WORN: ("oqpsk-2450", 4.0, -1.0, 0.0, -97.0, 6, 1.5, 24.0),
    PROP: ("oqpsk-2450", 0.0, 0.0, 0.0, -95.0, 4, 3.0, 22.0),
    SCENIC_BACKBONE: ("oqpsk-915", 8.0, 2.0, 1.0, -101.0, 0, None, 80.0),
    SCENIC: ("oqpsk-915", 8.0, 0.0, 0.0, -99.0, 8, 5.0, 28.0),
}


def node_types_of(project: Project) -> list[NodeType]:
    """The node types, not yet written."""
    return [
        NodeType(id=key("node type", name), project=project, name=name, **dict(zip(_FIELDS, values, strict=True)))
        for name, values in _TYPES.items()
    ]


def networks_of(project: Project) -> list[Network]:
    """The networks, not yet written. Radio channel 15 is 2425 MHz; 9 is 922 MHz in the 915 MHz band."""
    facts = ((MAIN_NETWORK, "oqpsk-2450", 15, 0x2A17), (SCENERY_NETWORK, "oqpsk-915", 9, 0x2A18))
    return [
        Network(id=key("network", name), project=project, name=name, phy=phy, radio_channel=channel, pan_id=pan_id)
        for name, phy, channel, pan_id in facts
    ]
