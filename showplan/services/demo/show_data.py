"""How the demo's networks send, what feeds them, and what the show does."""

from collections.abc import Mapping, Sequence

from showplan.records.models import Feed, Network, Project, ShowTimeline, Traffic
from showplan.services.demo.identity import key
from showplan.services.demo.node_types import MAIN_NETWORK, SCENERY_NETWORK

# Every relay repeats what it hears, after a wait of its own: simple gear, and many packets on the air.
_MAIN_TRAFFIC = {
    "refresh_hz": 20.0,
    "coding": Traffic.Coding.CHANGES,
    "keep_alive_s": 2.0,
    "relaying": Traffic.Relaying.REPEATED,
    "jitter_ms": 15.0,
}
_SCENERY_TRAFFIC = {"refresh_hz": 25.0, "relaying": Traffic.Relaying.ROUTED}
# A serial line for the costumes; the scenery listens to a whole ANSI E1.11 line, most of which is for others.
_MAIN_FEED = {"kind": Feed.Kind.SERIAL, "rate_hz": 25.0, "baud": 115_200, "buffer_octets": 1024}
_SCENERY_FEED = {"kind": Feed.Kind.E1_11, "slots": 512, "rate_hz": 40.0, "buffer_octets": 1024}


# One act of ten minutes, invented: a slow opening, a chase, a finale in which all blink together, and dark at the end.
_ACT_S, _CHASE_S, _FINALE_S = 600, 200, 480


def timeline_of(project: Project, slots: Sequence[int]) -> ShowTimeline:
    """The act on these slots, not yet written."""
    rows = [f"{5 + 2 * i},{slot},180" for i, slot in enumerate(slots)]
    rows += [f"{_CHASE_S + 0.5 * i},{slots[i % len(slots)]},{255 if i // len(slots) % 2 else 60}" for i in range(160)]
    rows += [f"{_FINALE_S + 0.25 * i},{slot},{(255, 40)[i % 2]}" for i in range(16) for slot in slots[:: 1 + i % 2]]
    rows += [f"{_ACT_S},{slot},0" for slot in slots]
    return ShowTimeline(id=key("timeline", "Act"), project=project, name="Act", rows="\n".join(rows))


def traffics_of(project: Project, networks: Mapping[str, Network], timeline: ShowTimeline) -> list[Traffic]:
    """The networks' traffic settings, not yet written; the costumes send what changes in the timeline."""
    facts = {MAIN_NETWORK: {**_MAIN_TRAFFIC, "timeline": timeline}, SCENERY_NETWORK: _SCENERY_TRAFFIC}
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
