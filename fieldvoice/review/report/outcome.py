"""The result of a unit in one sentence that a layman understands, worked out from what counts.

It says no more than the log does: a first test that failed stays named, a test that was carried
over is never one that was held here, and work that is not finished is never a result.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

from fieldvoice.jobstate.events import PRACTICE, REPLAY
from fieldvoice.jobstate.records import Result
from fieldvoice.quantity.convert import from_si
from fieldvoice.quantity.unit_systems import METRIC
from fieldvoice.quantity.units import say
from fieldvoice.review.report.attempts import CHARGE_ADDED
from fieldvoice.review.report.out_of_turn import said_day
from fieldvoice.review.wording import Context, tone

_DECAY = {
    "tight": "the pipework held the vacuum; this test found no leak",
    "wet": "the vacuum did not hold: it rose and levelled off, as it does when moisture is left in "
           "the pipework",
    "leaking": "the pipework did not hold the vacuum: there is a leak",
    "not-yet-clear": "it is not yet clear whether the pipework holds a vacuum",
}
_NITROGEN = {
    "passed": "the pipework held the test pressure",
    "failed": "the pipework lost pressure under test",
    "gaining": "the test pressure rose, so that test proves nothing",
    "not-yet-clear": "it is not yet clear whether the pipework holds the test pressure",
}
_EARLIER = {"wet": "moisture", "leaking": "a leak", "failed": "a loss of pressure"}
_CHECKS = ("superheat", "subcooling", "valve-superheat")
_MODES = {
    PRACTICE: "This was practice, nothing was measured at a unit",
    REPLAY: "This is a replay of recorded lines, nothing was measured at a unit",
}
_POUND_KG = 0.453_592_37


@dataclass(frozen=True)
class Outcome:
    """The sentence, and the class it is set in: "good", "bad", "open"."""

    sentence: str
    tone: str


def outcome(context: Context) -> Outcome:
    """What came of the work on a unit."""
    clauses = list(_clauses(context))
    words = "; ".join(clause for clause, _ in clauses) + "."
    tones = [mood for _, mood in clauses]
    mood = next((t for t in ("bad", "open", "good") if t in tones), "open")
    lead = _MODES.get(context.state.mode)
    if lead:
        return Outcome(f"{lead}: {words}", mood)
    return Outcome(words[:1].upper() + words[1:], mood)


def _clauses(context: Context) -> Iterator[tuple[str, str]]:
    yield from _ending(context)
    tested = [*_test(context, "nitrogen", _NITROGEN), *_test(context, "decay", _DECAY)]
    yield from tested or [("no test of the pipework has a result", "open")]
    yield from _charge(context)
    yield from _checks(context)
    left = len(context.state.left_open)
    if left:
        yield f"{left} step{'s were' if left > 1 else ' was'} left open", "open"


def _ending(context: Context) -> Iterator[tuple[str, str]]:
    if context.state.ending is None:
        yield "the work is not finished", "open"
    elif context.state.ending == "stopped-early":
        yield "the work was stopped before its end", "open"


def _test(context: Context, about: str, words: dict[str, str]) -> Iterator[tuple[str, str]]:
    """The last result that counts, then what earlier ones found, and a hold begun after it."""
    given = [r for r in context.state.results if r.about == about]
    if not given:
        yield from _elsewhere(context, about)
        return
    last = given[-1]
    told = words.get(last.verdict, f"the last test ended as {last.verdict.replace('-', ' ')}")
    yield told + _before(context, given), tone(last.verdict) or "open"
    again = [t for t in context.state.history.timers if t.hold == last.step and t.seq > last.seq
             and t.seq not in context.state.history.withdrawn]
    if again:
        yield "a later test was begun and has no result", "open"


def _before(context: Context, given: list[Result]) -> str:
    found = dict.fromkeys(_EARLIER[r.verdict] for r in given[:-1]
                          if r.verdict in _EARLIER and r.verdict != given[-1].verdict)
    return f" (an earlier test had found {' and '.join(found)})" if found else ""


def _elsewhere(context: Context, about: str) -> Iterator[tuple[str, str]]:
    held = [test for test in context.state.tests_carried if test.about == about]
    if held:
        name = "pressure" if about == "nitrogen" else "vacuum"
        yield (f"a {name} test of {said_day(held[-1].day)} by {held[-1].by} was taken over, it was "
               "not measured here"), "open"


def _charge(context: Context) -> Iterator[tuple[str, str]]:
    taken = [r.si for r in context.state.readings if r.quantity == CHARGE_ADDED]
    if taken:
        net = sum(taken)
        way = "added" if net >= 0 else "taken out"
        yield f"{mass(abs(net), context.units)} of refrigerant was {way}", ""


def mass(kg: float, units: str) -> str:
    """A mass as a person weighs it: "0.29 kg", "10.2 oz", "1.5 lb"."""
    if units == METRIC:
        return say(round(kg, 2), "kg")
    unit = "lb" if kg >= _POUND_KG else "oz"
    return say(round(from_si(kg, unit), 2 if unit == "lb" else 1), unit)


def _checks(context: Context) -> Iterator[tuple[str, str]]:
    """The newest check of each kind, all in one clause."""
    newest = {r.about: r.verdict for r in context.state.results if r.about in _CHECKS}
    if newest and all(verdict == "on-target" for verdict in newest.values()):
        yield "the charge was on target when it ran", "good"
    elif newest:
        off = [f"{about.replace('-', ' ')} {verdict.replace('-', ' ')}"
               for about, verdict in newest.items() if verdict != "on-target"]
        yield f"the charge was not shown to be on target ({', '.join(off)})", "bad"
