"""A test held before this job, or in another one: it counts with its date and its name, and the
steps that it stands for are passed over."""

from __future__ import annotations

from dataclasses import replace
from datetime import date, timedelta

from fieldvoice.dialogue import leaving, prompts, steps
from fieldvoice.dialogue.depth import listing
from fieldvoice.dialogue.order.earlier_log import OtherSystem, from_job
from fieldvoice.dialogue.turn import Turn
from fieldvoice.jobstate import events as e
from fieldvoice.jobstate.earlier_job import NoSuchJob
from fieldvoice.jobstate.records import CarriedTest
from fieldvoice.jobstate.state import JobState
from fieldvoice.language import intents as i
from fieldvoice.procedure.plain_way import plainly_to

ABOUT = "carry"  # why a question is open
TESTS = {"nitrogen-test": ("nitrogen", "passed"), "standing-test": ("decay", "tight")}
# Older ones are asked about. Common practice, from memory: what held a month ago may have been
# opened since, and a vacuum that nobody looked at for days may be gone.
OLD = {"nitrogen": timedelta(days=30), "decay": timedelta(days=3)}


def carry(turn: Turn, intent: i.CarryTest) -> None:
    """Carry a test over: ask for what is missing, refuse what cannot count."""
    against = _against(turn.state, intent)
    if against is not None:
        turn.refuse(against)
        return
    if listing.asks_first(turn):
        return
    if intent.job is not None:
        try:
            intent, figures = from_job(turn, intent, *TESTS[intent.test])
        except (NoSuchJob, OtherSystem) as error:
            turn.refuse(f"Not carried over: {error}.")
            return
    else:
        figures = {"told": intent.figures} if intent.figures else {}
    asked = _missing(turn, intent)
    if asked is not None:
        _ask(turn, intent, *asked)
        return
    day = _day(turn, intent)
    if isinstance(day, str):
        turn.refuse(day)
    elif turn.now.date() - day > OLD[TESTS[intent.test][0]] and intent.old is None:
        ago = (turn.now.date() - day).days
        _ask(turn, replace(intent, old="yes"), ABOUT,
             f"That was {ago} days ago. Was nothing opened since? Say yes or no.")
    else:
        _count(turn, intent, day, figures)


def _against(state: JobState, intent: i.CarryTest) -> str | None:
    """Why no such test can be carried over now; None when it can."""
    about, _ = TESTS[intent.test]
    if not chain(state, intent.test):
        return f"This procedure has no {_words(intent.test)} to carry over."
    if intent.verdict == "failed":
        return f"A failed {_words(intent.test)} is not carried over. Hold it here."
    here = [r for r in state.results if r.about == about]
    if here and (not state.tests_carried or state.tests_carried[-1].seq < here[-1].seq):
        return (f"It was held here: {here[-1].verdict.replace('-', ' ')}. "
                "What was measured here counts.")
    if state.hold is not None and state.hold.running:
        return "The hold runs. Say stop the hold first."
    return None


def _missing(turn: Turn, intent: i.CarryTest) -> tuple[str, str] | None:
    """Why and how to ask for what was not said; None when all is there."""
    test = _words(intent.test)
    if intent.verdict is None:
        return ABOUT, f"Did the {test} pass? Say passed or failed."
    if intent.when is None:
        return ABOUT, f"When was the {test}? Say yesterday, or two days ago. Or type the date."
    if not isinstance(_day(turn, intent), str) and intent.by is None:
        return "reason", f"Who held the {test}? Say or type the name."
    return None


def _ask(turn: Turn, intent: i.CarryTest, why: str, words: str) -> None:
    assert turn.line is not None
    turn.emit(e.Asked(turn.line, why, intent.to_dict()))
    turn.ask(words)


def again(intent: i.CarryTest) -> str:
    """The open question once more."""
    if intent.old is not None:
        return "So old a test: was nothing opened since? Say yes or no."
    if intent.verdict is None:
        return f"Did the {_words(intent.test)} pass? Say passed or failed."
    if intent.when is None:
        return "When was it? Say yesterday, or two days ago. Or type the date."
    return "Who held it? Say or type the name, or say no."


def _day(turn: Turn, intent: i.CarryTest) -> date | str:
    """The day of the test, or why it cannot be that one."""
    assert intent.when is not None
    said = intent.when.split(" days ago")[0]
    try:
        day = turn.now.date() - timedelta(days=int(said)) if said.isdigit() \
            else date.fromisoformat(said)
    except (ValueError, OverflowError):
        return f"{intent.when} is no date. Type it as 2026-11-26."
    if day > turn.now.date():
        return f"{said_day(day)} is still to come. Say when the test was."
    return day


_GOOD, _BAD = ("passed", "holding", "tight"), ("failed", "leaking", "wet", "dropped")


def fits(intent: i.CarryTest, said: i.Intent) -> bool:
    """Whether a line is what was asked for."""
    if intent.old is not None:
        return isinstance(said, i.Yes)
    if intent.verdict is None:
        return isinstance(said, i.Yes) or (
            isinstance(said, i.Choose) and said.option in (*_GOOD, *_BAD))
    return intent.when is None and isinstance(said, i.SaidWhen)


def answered(turn: Turn, intent: i.CarryTest, said: i.Intent) -> None:
    """Take in what was asked for."""
    if intent.verdict is None:
        good = isinstance(said, i.Yes) or (isinstance(said, i.Choose) and said.option in _GOOD)
        intent = replace(intent, verdict="passed" if good else "failed")
    elif isinstance(said, i.SaidWhen):
        intent = replace(intent, when=said.when)
    carry(turn, intent)


def named(turn: Turn, intent: i.CarryTest, who: str) -> None:
    """The name was given; sound that holds it is kept."""
    carry(turn, replace(intent, by=name_kept(who)))


def name_kept(who: str) -> str:
    """A name as the log has it."""
    return f"name {who}" if who == leaving.KEPT else who


# --- what it does ---------------------------------------------------------------------------------


def _count(turn: Turn, intent: i.CarryTest, day: date, figures: dict[str, str]) -> None:
    about, verdict = TESTS[intent.test]
    source = intent.job or ""
    carried = CarriedTest(0, turn.now, about, verdict, day.isoformat(), intent.by or "", source,
                          figures, turn.line)
    why = f"carried over: {told(carried)}"
    passed = [name for name in chain(turn.state, intent.test) if name not in turn.state.carried]
    turn.emit(e.TestCarried(about, verdict, day.isoformat(), carried.by, source, figures,
                            turn.line))
    for name in passed:
        turn.emit(e.StepCarried(name, why, turn.line))
    more = " See that it still stands under vacuum." if about == "decay" else ""
    turn.answer(f"{_words(intent.test).capitalize()} carried over: {told(carried)}. "
                f"Not measured here.{more}")
    step = turn.state.open_step
    if step is not None and step.name in passed:
        turn.emit(e.StepSkipped(step.name, why, turn.line))
        steps.open_step(turn, plainly_to(turn.state.procedure, step))
    else:
        turn.say("prompt", prompts.waits_for(turn.state))


def chain(state: JobState, test: str) -> list[str]:
    """The steps that a passed test of that name stands for, as the work plainly goes.

    Searches for leaks, drying and the test after a repair are none of them; an ending neither.
    """
    parts = {s.name for s in state.procedure.stages.values() if s.part_of == test}
    name: str | None = next((s.name for s in state.procedure.steps if s.stage in parts), None)
    found: list[str] = []
    while name is not None and name not in found:
        step = state.procedure.step(name)
        if step.stage not in parts or step.ending:
            break
        found.append(name)
        name = plainly_to(state.procedure, step)
    return found


def told(carried: CarriedTest) -> str:
    """A carried-over test in a few words: "passed 26 November, Lee Park"."""
    source = f"job {carried.source}" if carried.source else ""
    who = ", ".join(filter(None, (carried.by, source)))
    return f"{carried.verdict} {said_day(date.fromisoformat(carried.day))}, {who}"


def verdict_words(carried: CarriedTest) -> str:
    """The answer to the question for the verdict."""
    test = next(name for name, (about, _) in TESTS.items() if about == carried.about)
    return (f"The {_words(test)} was not measured here. It was carried over: {told(carried)}.")


def said_day(day: date) -> str:
    """A day as it is said: "26 November"."""
    return f"{day.day} {day:%B}"


def _words(test: str) -> str:
    return test.replace("-", " ")
