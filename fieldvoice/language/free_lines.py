"""Typed lines that end in words of one's own: a title, a name, a reason; tried when no rule fits.

Their openings are those of grammar/commands.lark; what follows is kept as it was typed.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import replace

from fieldvoice.language.intents import (
    AskFact,
    CarryTest,
    ForUnit,
    GoTo,
    Intent,
    OpenUnit,
    SkipStage,
    StartHold,
    StartHoldAt,
    TellFact,
)

LONGEST = 120  # characters of a name, a title or a reason
_GO_TO = re.compile(r"(?:(?:go|jump|skip|move)(?:\s+on)?\s+to|(?:start|begin)\s+at"
                    r"|(?P<back>(?:go\s+)?back\s+to))\s*:?\s+(?:the\s+)?(?P<title>\S.*)",
                    re.I | re.S)
_FROM_JOB = re.compile(r"(?P<test>.+?)\s+(?:is\s+)?from\s+(?:the\s+)?job\s+(?P<job>\S+)", re.I)
_TEST = re.compile(r"(?P<test>.+?)\s+(?:was\s+|is\s+)?(?P<end>passed|held|failed|done)\b"
                   r"(?P<rest>.*)", re.I | re.S)
_DAY = re.compile(r"\b\d{4}-\d{2}-\d{2}\b|\btoday\b|\byesterday\b|\b\S+\s+(?:days|weeks)\s+ago\b",
                  re.I)
_BY = re.compile(r"\bby\s+(?P<who>[^\d,;]+)", re.I)
_REASON = re.compile(r"(?P<head>[^,:]+?)\s*(?:[,:]|\bbecause\b)\s*(?P<reason>\S.*)", re.I | re.S)

_TYPED_FOR_A_UNIT = (AskFact, CarryTest, GoTo, SkipStage, StartHold, StartHoldAt, TellFact)

Understand = Callable[[str], Intent]


def free_line(line: str, understand: Understand) -> Intent | None:
    """The intent of a typed line that no rule of the grammar fits; None when it is none of these.

    `understand` gives the meaning of what stands before the free words.
    """
    line = " ".join(line.split())
    if not line.isprintable():
        return None
    return (_for_unit(line, understand)
            or _from_job(line, understand) or _test_held(line, understand)
            or _with_reason(line, understand) or _place(line))


def _for_unit(line: str, understand: Understand) -> ForUnit | None:
    """A line that opens with the name of its unit: "unit 2 refrigerant is R-32"."""
    words = line.split()
    for at in (2, 3):
        unit = understand(" ".join(words[:at]))
        if isinstance(unit, OpenUnit) and words[at:]:
            said = understand(" ".join(words[at:]))
            if isinstance(said, _TYPED_FOR_A_UNIT):
                return ForUnit(unit.unit, said)
    return None


def _place(line: str) -> GoTo | None:
    found = _GO_TO.fullmatch(line)
    if found is None or len(found["title"]) > LONGEST:
        return None
    return GoTo(title=found["title"].rstrip(" .!?"), direction="back" if found["back"] else None)


def _tested(words: str, understand: Understand) -> str | None:
    """The test that is named, by the rule that names it."""
    named = understand(f"{words} done")
    return named.test if isinstance(named, CarryTest) else None


def _from_job(line: str, understand: Understand) -> CarryTest | None:
    found = _FROM_JOB.fullmatch(line)
    test = _tested(found["test"], understand) if found else None
    return CarryTest(test, job=found["job"]) if found and test else None


def _test_held(line: str, understand: Understand) -> CarryTest | None:
    found = _TEST.fullmatch(line)
    test = _tested(found["test"], understand) if found else None
    if found is None or test is None or len(found["rest"]) > LONGEST:
        return None
    rest, day, by = found["rest"], _DAY.search(found["rest"]), None
    if day is not None:
        rest = rest.replace(day[0], " ", 1)
    if who := _BY.search(rest):
        by, rest = who["who"].strip(" ."), rest.replace(who[0], " ", 1)
    known = understand(f"nitrogen test {found['end']} {day[0] if day else ''}")
    figures = " ".join(rest.replace(",", " ").replace(";", " ").split()) or None
    if not isinstance(known, CarryTest):
        known = CarryTest(test)
    return CarryTest(test, known.verdict, known.when, by or None, figures)


def _with_reason(line: str, understand: Understand) -> Intent | None:
    """What may carry a reason, and the reason behind a comma, a colon or "because"."""
    found = _REASON.fullmatch(line)
    if found is None or len(found["reason"]) > LONGEST:
        return None
    head = understand(found["head"])
    if isinstance(head, StartHold | SkipStage) and head.reason is None:
        return replace(head, reason=found["reason"])
    return None
