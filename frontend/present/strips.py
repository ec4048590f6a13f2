"""A band of the spectrum as a drawn strip, in units of the sheet: what is taken, our networks, the radio channels."""

import itertools
from collections.abc import Callable, Collection, Sequence
from dataclasses import dataclass
from typing import Any

WIDTH = 1000.0
EDGE = 24.0
LANE, BAR = 46.0, 20.0  # one lane: a name over its bar
LETTER = 8.6  # width of a letter of the names, about; drawing only
CHANNEL_HEIGHT, CHANNEL_BOX, AXIS_HEIGHT = 60.0, 30.0, 34.0
MOST_TICKS = 8
NARROWEST_NUMBER = 26.0


@dataclass(frozen=True)
class Bar:
    """A span of the band with its name; `text_x` is where the name starts, `anchor` how it is set."""

    kind: str
    x: str
    y: str
    width: str
    name: str
    text_x: str
    text_y: str
    anchor: str
    says: str


@dataclass(frozen=True)
class ChannelMark:
    """One radio channel; `path` crosses it out where it is taken, `number` is empty where there is no room."""

    kind: str
    x: str
    y: str
    width: str
    middle: str
    number: str
    path: str
    says: str


@dataclass(frozen=True)
class Strip:
    """One band, everything placed."""

    view_box: str
    bars: tuple[Bar, ...]
    channels: tuple[ChannelMark, ...]
    channels_y: str
    axis_y: str
    ticks: tuple[tuple[str, str], ...]


def strip_of(
    band: dict[str, Any],
    networks_on: dict[int, list[str]],
    channel_words: Sequence[str],
    unlisted: Collection[int] = (),
) -> Strip:
    """The drawing of one band of `services.spectrum.spectrum_strips`; frequencies outside it are drawn at its edge.

    `networks_on` names our networks by radio channel; `channel_words` describe the channels, in their order;
    `unlisted` are the radio channels that the region does not list.
    """
    scale = (WIDTH - 2 * EDGE) / (band["high_mhz"] - band["low_mhz"])

    def at(frequency_mhz: float) -> float:
        return EDGE + (min(max(frequency_mhz, band["low_mhz"]), band["high_mhz"]) - band["low_mhz"]) * scale

    spans = [("taken", one["label"], one) for one in band["taken"]]
    spans += [("ours", one["network"], one) for one in band["ours"] if one["low_mhz"] is not None]
    bars, lanes = _bars(spans, at)
    top = lanes * LANE + 8
    axis = top + CHANNEL_HEIGHT
    return Strip(
        view_box=f"0 0 {WIDTH:g} {axis + AXIS_HEIGHT:g}",
        bars=tuple(bars),
        channels=tuple(_channels(band, at, top, networks_on, channel_words, unlisted)),
        channels_y=f"{top:.1f}",
        axis_y=f"{axis:.1f}",
        ticks=tuple((f"{at(mhz):.1f}", f"{mhz:g}") for mhz in _ticks(band["low_mhz"], band["high_mhz"])),
    )


def _bars(spans: list[tuple[str, str, Any]], at: Callable[[float], float]) -> tuple[list[Bar], int]:
    """Each span in the first lane that has room for it and its name; taken spectrum above our networks."""
    bars: list[Bar] = []
    ends: list[float] = []
    first_lane = 0
    for index, (kind, name, one) in enumerate(spans):
        if index and kind != spans[index - 1][0]:
            first_lane = len(ends)
        left, right = at(one["low_mhz"]), at(one["high_mhz"])
        text = LETTER * len(name)
        is_at_end = left + text > WIDTH - EDGE
        start, end = (min(left, right - text), right) if is_at_end else (left, max(right, left + text))
        lane = next((i for i in range(first_lane, len(ends)) if ends[i] + 8 <= start), len(ends))
        ends[lane : lane + 1] = [end]
        y = lane * LANE + 20
        span = f"{one['low_mhz']:.6g} to {one['high_mhz']:.6g} MHz"
        bars.append(
            Bar(
                kind=kind,
                x=f"{left:.1f}",
                y=f"{y:.1f}",
                width=f"{max(2.0, right - left):.1f}",
                name=name,
                text_x=f"{right if is_at_end else left:.1f}",
                text_y=f"{y - 5:.1f}",
                anchor="end" if is_at_end else "start",
                says=f"{name}, {span}",
            )
        )
    return bars, len(ends)


def _channels(
    band: dict[str, Any],
    at: Callable[[float], float],
    top: float,
    networks_on: dict[int, list[str]],
    channel_words: Sequence[str],
    unlisted: Collection[int],
) -> list[ChannelMark]:
    middles = [at(one["frequency_mhz"]) for one in band["channels"]]
    pitch = min((b - a for a, b in itertools.pairwise(middles)), default=60.0)
    width = min(48.0, 0.86 * pitch)
    every = max(1, -int(-NARROWEST_NUMBER // pitch))
    y, height = top + 4, CHANNEL_BOX
    marks = []
    for index, (one, middle, says) in enumerate(zip(band["channels"], middles, channel_words, strict=True)):
        number = one["radio_channel"]
        is_ours, is_taken = bool(networks_on.get(number)), bool(one["taken_by"])
        states = {"taken-channel": is_taken, "our-channel": is_ours, "unlisted-channel": number in unlisted}
        left = middle - width / 2
        marks.append(
            ChannelMark(
                kind=" ".join(["radio-channel", *(word for word, holds in states.items() if holds)]),
                x=f"{left:.1f}",
                y=f"{y:.1f}",
                width=f"{width:.1f}",
                middle=f"{middle:.1f}",
                number=str(number) if is_ours or index % every == 0 else "",
                path=f"M{left:.1f} {y + height:.1f}L{left + width:.1f} {y:.1f}" if is_taken else "",
                says=says,
            )
        )
    return marks


def _ticks(low_mhz: float, high_mhz: float) -> list[float]:
    """Round frequencies across the band, at most MOST_TICKS."""
    steps = [factor * 10**power for power in range(-2, 4) for factor in (1, 2, 5)]
    step = next(one for one in steps if (high_mhz - low_mhz) / one <= MOST_TICKS)
    first = -int(-low_mhz // step)
    return [round(index * step, 6) for index in range(first, int(high_mhz // step) + 1)]
