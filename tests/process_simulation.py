"""The same rules as the packet simulation, written apart from it as simpy processes: a check, and a yardstick.

One process a node, in microseconds. Whatever overlaps at a receiver is lost there (no capture); every node hears those
in `hears`.
"""

import math
import random
from collections.abc import Generator
from dataclasses import dataclass, field
from typing import Any

import simpy

UNIT_US, SENSING_US, TURNAROUND_US, ACK_WAIT_US, ACK_US, OCTET_US = 320.0, 128.0, 192.0, 864.0, 352.0, 32.0
SHORT_GAP_US, LONG_GAP_US, SHORT_OCTETS = 192.0, 640.0, 18
MIN_BE, MAX_BE, MAX_BACKOFFS, RETRIES = 3, 5, 4, 3


@dataclass
class Frame:
    """On the air from now on; `spoilt` at those nodes where it overlapped."""

    sender: int
    spoilt: set[int] = field(default_factory=set)


class Air:
    """Who sends, and who finds the channel busy."""

    def __init__(self, env: simpy.Environment, hears: list[list[bool]]) -> None:
        self.env, self.hears = env, hears
        self.frames: list[Frame] = []
        self.sensing: dict[int, bool] = {}

    def heard_at(self, node: int) -> list[Frame]:
        return [frame for frame in self.frames if frame.sender == node or self.hears[frame.sender][node]]

    def sense(self, node: int) -> Generator[Any, Any, bool]:
        self.sensing[node] = bool(self.heard_at(node))
        yield self.env.timeout(SENSING_US)
        return self.sensing.pop(node)

    def send(self, node: int, time_us: float) -> Generator[Any, Any, Frame]:
        frame = Frame(node)
        for other, hears in enumerate(self.hears[node]):
            if other != node and not hears:
                continue
            if other in self.sensing:
                self.sensing[other] = True
            for present in self.heard_at(other):
                present.spoilt.add(other)
                frame.spoilt.add(other)
        self.frames.append(frame)
        yield self.env.timeout(time_us)
        self.frames.remove(frame)
        return frame


@dataclass
class Counts:
    """Of all senders together."""

    packets: int = 0
    delivered: int = 0
    no_access: int = 0
    no_ack: int = 0
    sensed: int = 0
    sensed_busy: int = 0
    sent: int = 0
    failed: int = 0


class Star:
    """Senders 0 to n - 1 with one packet at a time for the sink n, `per_s` after the previous (infinite: at once).

    With `rests` a gap follows every packet, else only one that was sent to its end.
    """

    def __init__(
        self,
        senders: int,
        octets: int,
        per_s: float,
        *,
        acknowledged: bool,
        hidden: bool,
        seed: int,
        warm_up_s: float,
        rests: bool = True,
    ) -> None:
        self.env = simpy.Environment()
        sink = senders
        hears = [
            [i != j and not (hidden and i < sink and j < sink) for j in range(senders + 1)] for i in range(senders + 1)
        ]
        self.air, self.counts, self.random = Air(self.env, hears), Counts(), random.Random(seed)
        self.sink, self.octets, self.per_s, self.acknowledged = sink, octets, per_s, acknowledged
        self.warm_up_us, self.rests = warm_up_s * 1e6, rests
        for node in range(senders):
            self.env.process(self._node(node))

    def run(self, duration_s: float) -> Counts:
        self.env.run(until=self.warm_up_us + duration_s * 1e6)
        return self.counts

    def _count(self, name: str, by: int = 1) -> None:
        if self.env.now >= self.warm_up_us:
            setattr(self.counts, name, getattr(self.counts, name) + by)

    def _node(self, node: int) -> Generator[Any, Any, None]:
        yield self.env.timeout(self.random.random() * 32 * UNIT_US)
        gap_us = SHORT_GAP_US if self.octets <= SHORT_OCTETS else LONG_GAP_US
        was_sent = True
        while True:
            think_us = 0.0 if math.isinf(self.per_s) else self.random.expovariate(self.per_s) * 1e6
            yield self.env.timeout(max(think_us, gap_us if was_sent or self.rests else 0.0))
            was_sent = yield from self._packet(node)

    def _packet(self, node: int) -> Generator[Any, Any, bool]:
        """Whether it was sent to its end; the wait for an acknowledgement in vain is longer than a gap."""
        self._count("packets")
        has_come = False
        for _ in range(RETRIES + 1 if self.acknowledged else 1):
            if not (yield from self._access(node)):
                self._count("no_access")
                return False
            self._count("sent")
            frame = yield from self.air.send(node, (6 + self.octets) * OCTET_US)
            is_clean = self.sink not in frame.spoilt
            self._count("failed", not is_clean)
            self._count("delivered", is_clean and not has_come)
            has_come |= is_clean
            if not self.acknowledged:
                return True
            started_us = self.env.now
            if is_clean:
                yield self.env.timeout(TURNAROUND_US)
                answer = yield from self.air.send(self.sink, ACK_US)
                if node not in answer.spoilt:
                    return True
            yield self.env.timeout(started_us + ACK_WAIT_US - self.env.now)
        self._count("no_ack")
        return False

    def _access(self, node: int) -> Generator[Any, Any, bool]:
        exponent = MIN_BE
        for _ in range(MAX_BACKOFFS + 1):
            yield self.env.timeout(self.random.randrange(2**exponent) * UNIT_US)
            is_busy = yield from self.air.sense(node)
            self._count("sensed")
            self._count("sensed_busy", is_busy)
            if not is_busy:
                yield self.env.timeout(TURNAROUND_US)
                return True
            exponent = min(exponent + 1, MAX_BE)
        return False
