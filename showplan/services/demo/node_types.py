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
    "input_uf",
)
# Plausible figures of small 802.15.4 modules; a crew puts those of its own hardware. A worn antenna is short and
# close to cloth and skin, hence the negative gain.
_TYPES: dict[str, tuple[str | float | None, ...]] = {
    BACKBONE: ("oqpsk-2450", 8.0, 2.0, 0.5, -100.0, 0, None, 85.0, 100.0),
    WORN: ("oqpsk-2450", 4.0, -1.0, 0.0, -97.0, 6, 1.5, 24.0, 220.0),
    PROP: ("oqpsk-2450", 0.0, 0.0, 0.0, -95.0, 4, 3.0, 22.0, 220.0),
    SCENIC_BACKBONE: ("oqpsk-915", 8.0, 2.0, 1.0, -101.0, 0, None, 80.0, 100.0),
    SCENIC: ("oqpsk-915", 8.0, 0.0, 0.0, -99.0, 8, 5.0, 28.0, 470.0),
}
_SWITCH_FIELDS = (
    "switch_on_mohm",
    "switch_rated_drive_v",
    "switch_threshold_v",
    "drive_v",
    "switch_k_per_w",
    "switch_edge_us",
    "dimming_hz",
)
# Plausible figures of small N-channel switches: those driven with 3.3 V are rated at 2.5 V, the scenic one at 4.5 V.
_SWITCHES: dict[str, tuple[float, ...]] = {
    WORN: (80.0, 2.5, 1.2, 3.3, 125.0, 2.0, 800.0),
    PROP: (32.0, 2.5, 1.2, 3.3, 100.0, 2.0, 800.0),
    SCENIC: (11.0, 4.5, 2.2, 5.0, 62.0, 1.0, 600.0),
}


def node_types_of(project: Project) -> list[NodeType]:
    """The node types, not yet written."""
    return [
        NodeType(
            id=key("node type", name),
            project=project,
            name=name,
            **dict(zip(_FIELDS, values, strict=True)),
            **(dict(zip(_SWITCH_FIELDS, _SWITCHES[name], strict=True)) if name in _SWITCHES else {}),
        )
        for name, values in _TYPES.items()
    ]


def networks_of(project: Project) -> list[Network]:
    """The networks, not yet written. Radio channel 15 is 2425 MHz; 9 is 922 MHz in the 915 MHz band."""
    facts = ((MAIN_NETWORK, "oqpsk-2450", 15, 0x2A17), (SCENERY_NETWORK, "oqpsk-915", 9, 0x2A18))
    return [
        Network(id=key("network", name), project=project, name=name, phy=phy, radio_channel=channel, pan_id=pan_id)
        for name, phy, channel, pan_id in facts
    ]
