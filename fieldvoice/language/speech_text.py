"""Screen text to words that are spoken well: numbers, units, times left."""

from __future__ import annotations

import re
from decimal import Decimal
from functools import cache

from fieldvoice.language.numbers import ONES, TENS
from fieldvoice.quantity.units import PRESSURE_SCALES, UNITS

SCALES = ((10**9, "billion"), (10**6, "million"), (1000, "thousand"), (100, "hundred"))
MONTHS = ("January", "February", "March", "April", "May", "June", "July", "August", "September",
          "October", "November", "December")
PARTS = {2: "half", 4: "quarter", 8: "eighth", 16: "sixteenth", 32: "thirty second"}


@cache
def spoken_units() -> dict[str, tuple[str, str]]:
    """Unit as shown, or its own word for many -> words after 1, words after any other number."""
    found = {"\u00b0": ("degree", "degrees")}
    for name, scale in PRESSURE_SCALES.items():
        one, _, many = scale.spoken.partition("|")
        if one:
            found[name] = (one, many or one)
    for unit in UNITS.values():
        spoken = (unit.one.lower(), unit.words.lower())
        shown_as_word = (unit.one,) if unit.screen == unit.words else ()  # "1 micron"
        for text in (unit.screen, unit.name, unit.words, *shown_as_word):
            found.setdefault(text, spoken)
    return found


_VALUE = r"[-\u2212]?\d{1,3}(?:,\d{3})+(?:\.\d+)?|[-\u2212]?\d+(?:\.\d+)?"


@cache
def _sayable() -> re.Pattern[str]:
    """What is not said as it is written; made when first needed, which spares a start."""
    unit = "|".join(re.escape(unit) for unit in sorted(spoken_units(), key=len, reverse=True))
    return re.compile(
        r"\bR-(?P<refrigerant>\d{2,4})(?P<blend>[A-Za-z]{0,2})\b|\b(?P<safety>[AB][1-3]L?)\b"
        r"|(?<!\d)(?P<joined>-?)(?P<date>(?:19|20)\d\d-[01]\d-[0-3]\d)(?!\d)(?:-(?P<clock>\d{6})(?!\d))?"
        r"|(?<![\w.])(?P<section>\d+(?:\.\d+){2,})(?![\w.]\d)"
        r"|(?<!\w)(?P<ordinal>\d+(?:st|nd|rd|th))\b"
        r"|(?<=\bat )(?P<hour>[012]?\d):(?P<minute>[0-5]\d)(?![\w:])"
        rf"|(?<![\w.])(?:(?P<hours>\d+):(?=\d\d:\d\d))?(?P<minutes>\d+):(?P<seconds>\d\d)"
        r"(?: (?P<half_day>[AP]M))?(?![\w:])"
        rf"|(?<![\w.])(?:(?P<whole>\d+)[ -])?(?P<top>\d+)/(?P<bottom>2|4|8|16|32)(?![\d/])"
        rf"(?: ?(?P<part_unit>{unit})(?![\w·/³]))?"
        rf"|(?P<to>(?<=\d) ?[-\u2013] ?(?=\d))"
        rf"|(?<![\w.])(?<![A-Za-z]-)(?P<value>{_VALUE})(?: ?(?P<unit>{unit})(?![\w·/³]))?"
    )


def say_number(value: Decimal) -> str:
    """A number in words, as understand() reads it back: 412 -> "four hundred twelve".

    Figures after the point are said one by one and kept: 1.20 -> "one point two zero".
    """
    if not value.is_finite():
        raise ValueError(f"{value} is not a number that can be said: give a finite one")
    whole, point, places = format(value.copy_abs(), "f").partition(".")
    words = ("minus " if value < 0 else "") + _say_whole(int(whole))
    if point:
        words += " point " + " ".join(ONES[int(figure)] for figure in places)
    return words


def _say_whole(value: int) -> str:
    if value < 20:
        return ONES[value]
    if value < 100:
        ten, one = divmod(value, 10)
        return TENS[ten] + (f" {ONES[one]}" if one else "")
    for size, name in SCALES:
        if value >= size:
            many, rest = divmod(value, size)
            return f"{_say_whole(many)} {name}" + (f" {_say_whole(rest)}" if rest else "")
    raise AssertionError("every number of at least 100 has a scale")


def say_unit(value: Decimal, unit: str) -> str:
    """The words of a unit after a value; a unit without words of its own is said as it stands."""
    one, many = spoken_units().get(unit, (unit, unit))
    return one if abs(value) == 1 else many


def say(text: str) -> str:
    """Screen text in words: "1 micron, 9:40 left" -> "one micron, nine minutes forty ..."."""
    return _sayable().sub(_say_match, text)


def figures(text: str) -> list[str]:
    """The numbers in a screen text with their units, as `say` says them."""
    names = ("refrigerant", "safety", "to", "date", "section", "ordinal", "hour")
    return [_say_match(m) for m in _sayable().finditer(text) if not any(m[name] for name in names)]


def _say_match(found: re.Match[str]) -> str:
    if found["refrigerant"]:
        return " ".join(["R", _say_name(found["refrigerant"]), *found["blend"]])
    if found["safety"]:  # a safety class: A2L
        letters = [ONES[int(c)] if c.isdigit() else c for c in found["safety"]]
        return " ".join(letters)
    if found["ordinal"]:  # a synthesizer knows "2nd" as one word
        return found["ordinal"]
    if found["date"]:
        said = _say_date(found["date"], found["clock"])
        return f" {said}" if found["joined"] else said
    if found["hour"]:  # of the day: at 14:30
        return _say_clock(int(found["hour"]), int(found["minute"]))
    if found["section"]:  # of a document: 3.3.3
        return " point ".join(_say_whole(int(part)) for part in found["section"].split("."))
    if found["to"]:
        return " to "
    if found["half_day"]:
        return _say_clock(int(found["minutes"]), int(found["seconds"]), found["half_day"])
    if found["minutes"]:
        return _say_time(int(found["hours"] or 0), int(found["minutes"]), int(found["seconds"]))
    if found["top"]:
        part = _say_fraction(int(found["whole"] or 0), int(found["top"]), int(found["bottom"]))
        return part + (f" {say_unit(Decimal(2), found['part_unit'])}" if found["part_unit"] else "")
    value = Decimal(found["value"].replace(",", "").replace("\u2212", "-"))
    unit = found["unit"]
    beside = found.string[found.end() :].startswith((" hold", " timer"))  # a ten minute hold
    return say_number(value) + (
        f" {say_unit(Decimal(1) if beside else value, unit)}" if unit else ""
    )


def _say_name(digits: str) -> str:
    """Figures of a name in pairs: 410 -> "four ten", 32 -> "thirty two", 407 -> "four oh seven"."""
    first, second = digits[:-2], digits[-2:]
    if not first:
        return _say_whole(int(second))
    if second == "00":
        return f"{_say_whole(int(first))} hundred"
    oh = "oh " if second[0] == "0" else ""
    return f"{_say_whole(int(first))} {oh}{_say_whole(int(second))}"


def _say_time(hours: int, minutes: int, seconds: int) -> str:
    parts = [
        f"{_say_whole(count)} {name}{'' if count == 1 else 's'}"
        for count, name in ((hours, "hour"), (minutes, "minute"), (seconds, "second"))
        if count
    ]
    return " ".join(parts) or "zero seconds"


def _say_date(date: str, clock: str | None) -> str:
    """A day, and a time of it, as names of jobs hold them: "November twenty seven, nine ten"."""
    _, month, day = map(int, date.split("-"))
    if not 1 <= month <= 12:
        return " ".join(_say_whole(int(part)) for part in date.split("-"))
    said = f"{MONTHS[month - 1]} {_say_whole(day)}"
    if clock is None:
        return said
    return f"{said}, {_say_clock(int(clock[:2]), int(clock[2:4]))}"


def _say_clock(hour: int, minute: int, half_day: str = "") -> str:
    """The time of day: "14:30" -> "fourteen thirty", "2:05 PM" -> "two oh five P M"."""
    minutes = _say_whole(minute) if minute >= 10 else f"oh {_say_whole(minute)}"
    even = "" if half_day else "hundred"
    return " ".join(filter(None, (_say_whole(hour), minutes if minute else even, *half_day)))


def _say_fraction(whole: int, top: int, bottom: int) -> str:
    name = PARTS[bottom]
    part = (
        f"one {name}"
        if top == 1
        else f"{_say_whole(top)} {'halves' if bottom == 2 else name + 's'}"
    )
    return f"{_say_whole(whole)} and {part}" if whole else part
