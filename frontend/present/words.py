"""Wording that several pages share."""

from datetime import date, datetime

# How far a figure can be trusted, as people say it.
STANDING_WORDS = {
    "read": "read in the source named",
    "memory": "from memory: have it checked",
    "derived": "derived from figures that were read",
}
SEVERITY_SYMBOLS = {"stop": "■", "warn": "▲", "note": "○"}
LARGEST_IN_FULL = 1e12
STATE_SYMBOLS = {"stop": "■", "look": "▲", "ready": "✓", "open": "·"}


def day(value: date) -> str:
    """A date people read without doubt on any continent, e.g. 'Sat 3 Oct 2026'."""
    return f"{value:%a} {value.day} {value:%b %Y}"


def moment(text: str) -> str:
    """A time in ISO 8601 as people write it, e.g. '24 Aug 2026, 21:10 UTC'; any other text as it stands."""
    try:
        at = datetime.fromisoformat(text)
    except ValueError:
        return text
    return f"{at.day} {at:%b %Y, %H:%M} {at.tzname() or ''}".rstrip()


def number(value: float) -> str:
    """Six significant digits, whole numbers in full with spaces between thousands; a true minus sign."""
    is_whole = value == int(value) and abs(value) < LARGEST_IN_FULL
    text = f"{int(value):,}".replace(",", "\u202f") if is_whole else f"{value:.6g}"
    return text.replace("-", "−")


def decibels(value_db: float) -> str:
    """One decimal, a true minus sign, the unit."""
    return f"{value_db:.1f} dB".replace("-", "−")


def dbm(level_dbm: float) -> str:
    """One decimal, a true minus sign, the unit."""
    return f"{level_dbm:.1f} dBm".replace("-", "−")


def percent(share: float) -> str:
    """A share from 0 to 1 with one decimal; what is not quite nothing or everything is not rounded to it."""
    if 0 < share < 0.0005:
        return "under 0.1 %"
    if 0.9995 <= share < 1:
        return "over 99.9 %"
    return f"{100 * share:.1f} %".replace(".0 %", " %")


def counted(count: int, singular: str, plural: str = "") -> str:
    """'1 node', '2 nodes'."""
    return f"{count} {singular if count == 1 else plural or singular + 's'}"


def milliseconds(value_ms: float) -> str:
    """One decimal, the unit."""
    return f"{value_ms:.1f} ms"


def times_a_second(rate_hz: float | None) -> str:
    """A refresh rate with three digits; None sets no limit."""
    return "no limit" if rate_hz is None else f"{in_digits(rate_hz, 3)} frames a second"


def in_digits(value: float, digits: int) -> str:
    """A number rounded to so many significant digits, never as a power of ten."""
    return number(float(f"{value:.{digits}g}"))


def volts(value_v: float) -> str:
    """Two decimals and the unit."""
    return f"{value_v:.2f} V".replace("-", "−")


def amperes(value_a: float) -> str:
    """Two decimals and the unit; below 0.1 A in whole milliamperes."""
    return f"{1000 * value_a:.0f} mA" if abs(value_a) < 0.0995 else f"{value_a:.2f} A"
