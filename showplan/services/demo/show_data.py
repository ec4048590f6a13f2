"""How the demo's networks send, and what feeds them."""

from collections.abc import Mapping

from showplan.records.models import Feed, Network, Project, Traffic
from showplan.services.demo.identity import key
from showplan.services.demo.node_types import MAIN_NETWORK, SCENERY_NETWORK

# Every relay repeats what it hears, after a wait of its own: simple gear, and many packets on the air.
_MAIN_TRAFFIC = {
    "refresh_hz": 20.0,
    "coding": Traffic.Coding.CHANGES,
    "changed_share": 0.25,
    "keep_alive_s": 2.0,
    "relaying": Traffic.Relaying.REPEATED,
    "jitter_ms": 15.0,
}
_SCENERY_TRAFFIC = {"refresh_hz": 25.0, "relaying": Traffic.Relaying.ROUTED}
# A serial line for the costumes; the scenery listens to a whole ANSI E1.11 line, most of which is for others.
_MAIN_FEED = {"kind": Feed.Kind.SERIAL, "rate_hz": 25.0, "baud": 115_200, "buffer_octets": 1024}
_SCENERY_FEED = {"kind": Feed.Kind.E1_11, "slots": 512, "rate_hz": 40.0, "buffer_octets": 1024}


def traffics_of(project: Project, networks: Mapping[str, Network]) -> list[Traffic]:
    """The networks' traffic settings, not yet written."""
    facts = {MAIN_NETWORK: _MAIN_TRAFFIC, SCENERY_NETWORK: _SCENERY_TRAFFIC}
    return [
        Traffic(id=key("traffic", name), project=project, network=networks[name], **values)
        for name, values in facts.items()
    ]


def feeds_of(project: Project, networks: Mapping[str, Network], last_slot: int) -> list[Feed]:
    """The networks' feeds, not yet written; the serial one ends with the last slot in use."""
    facts = {MAIN_NETWORK: {**_MAIN_FEED, "slots": last_slot}, SCENERY_NETWORK: _SCENERY_FEED}
    return [
        Feed(id=key("feed", name), project=project, network=networks[name], **values) for name, values in facts.items()
    ]
