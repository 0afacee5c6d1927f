"""Every test and every change of charge in the order they came, with the breaks between them.

A first hold that leaked stands before the one that was tight, and one taken back stands struck.
"""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime, timedelta

from fieldvoice.jobstate.records import BranchChoice, CarriedTest, LoggedReading, Result
from fieldvoice.jobstate.timers import Timer, say_duration
from fieldvoice.procedure.verdicts import CHECKS
from fieldvoice.review.figures import headline, judged_name
from fieldvoice.review.report.breaks import lasted
from fieldvoice.review.report.out_of_turn import said_day
from fieldvoice.review.vacuum import Break, end_of
from fieldvoice.review.wording import Context, Quote, name_words, said_value, tone

CHARGE_ADDED = "charge-added"
_LATE = 2.0  # minutes past its timer from which a hold's last reading is called late
_RESULTS = ("charge", *CHECKS)  # beside those of holds


@dataclass(frozen=True)
class Moment:
    """One line of what happened: a test, a check, a change of charge, or a break."""

    kind: str  # "hold", "result", "choice", "charge", "carried", "break"
    at: datetime
    time: str
    what: str
    facts: tuple[str, ...] = ()  # how long, what was read, what was out of the ordinary
    outcome: str = ""
    tone: str = ""
    gone: bool = False  # taken back
    said: Quote | None = None
    day: str = ""  # where it differs from that of the moment before


def moments(context: Context) -> list[Moment]:
    """All of them in order; each first one of a day names it."""
    found = [*_holds(context), *_results(context), *_choices(context), *_charges(context),
             *(_carried(context, test) for test in context.state.history.tests_carried)]
    if found:
        found += [_break(context, gap) for gap in context.breaks]
    return list(_with_days(context, sorted(found, key=lambda moment: moment.at)))


def _with_days(context: Context, found: Sequence[Moment]) -> Iterator[Moment]:
    before = None
    for moment in found:
        day = context.local(moment.at).date()
        new = day != before and (before is not None or found[-1].at.date() != found[0].at.date())
        before = day
        yield Moment(**{**vars(moment), "day": f"{day.day} {day:%B %Y}" if new else ""})


def _break(context: Context, gap: Break) -> Moment:
    night = context.local(gap.start).date() != context.local(gap.end).date()
    what = "Night, or longer: nobody worked" if night else "Break: nobody worked"
    until = f"until {context.local(gap.end):%H:%M}"
    return Moment("break", gap.start, f"{context.local(gap.start):%H:%M}", what,
                  (f"{until}, {lasted(gap.end - gap.start)}",))


# --- holds -------------------------------------------------------------------------------------


def _holds(context: Context) -> Iterator[Moment]:
    state = context.state
    holds = [timer for timer in state.history.timers if timer.hold]
    for place, timer in enumerate(holds):
        until = holds[place + 1].seq if place + 1 < len(holds) else state.next_seq
        yield _hold(context, timer, until)


def _hold(context: Context, timer: Timer, until: int) -> Moment:
    state, gone = context.state, context.state.history.withdrawn
    counting = timer.without(gone.keys())
    step = state.procedure.by_name.get(timer.hold or "")
    title = step.hold.title if step is not None and step.hold is not None else "hold"
    results = [r for r in state.history.results if timer.seq < r.seq < until
               and r.step == timer.hold and r.about in ("decay", "nitrogen")]
    taken = [r for r in state.readings if timer.seq < r.seq < until and r.hold == timer.hold]
    facts = [_length(counting or timer, context), *_read(taken), *_late(timer, taken, context)]
    if (counting or timer).own_reason:
        facts.append(f"shorter than asked for: {(counting or timer).own_reason}")
    facts += [f"judged first: {headline(r.about, r.verdict)}" for r in results[:-1]]
    outcome, mood = _outcome(results, step is not None and step.hold is not None
                             and step.hold.judge is not None)
    return Moment("hold", timer.started, context.clock(timer.started),
                  f"{title[:1].upper()}{title[1:]}", tuple(facts),
                  "taken back" if counting is None else outcome, mood, counting is None,
                  context.heard(timer.line))


def _outcome(results: Sequence[Result], judged: bool) -> tuple[str, str]:
    if results:
        return name_words(results[-1].verdict), tone(results[-1].verdict)
    return ("No result", "open") if judged else ("", "")


def _length(timer: Timer, context: Context) -> str:
    """Of its timer, and whether it ran to its end; never of how long the log stood open."""
    asked = say_duration(timedelta(seconds=timer.seconds))
    if timer.finished:
        return f"{asked}, ran to its end"
    if timer.untimed:
        return f"{asked} asked for; nobody knows how long it ran: {timer.reason}"
    ran = say_duration(end_of(timer, context.state) - timer.started)
    if timer.running:
        return f"{asked} asked for; {ran} had passed where the record ends"
    why = f": {timer.reason}" if timer.reason else ""
    return f"{asked} asked for; stopped after {ran}{why}"


def _read(taken: Sequence[LoggedReading]) -> list[str]:
    """First and last value of each quantity."""
    found = []
    for quantity in dict.fromkeys(r.quantity for r in taken):
        values = [r.now for r in taken if r.quantity == quantity]
        first, last = said_value(values[0]), said_value(values[-1])
        told = first if len(values) == 1 else f"{first} at first, {last} at last"
        found.append(f"{quantity.replace('-', ' ')} {told}")
    return found


def _late(timer: Timer, taken: Sequence[LoggedReading], context: Context) -> list[str]:
    """What a reader must know of readings after the end, and of a break within."""
    found = []
    over = end_of(timer, context.state)
    last = taken[-1].at if taken else over
    if (last - over).total_seconds() / 60 > _LATE:
        found.append(f"last reading {lasted(last - over)} after the timer's end")
    found += [f"nobody watched for {lasted(gap.end - gap.start)}" for gap in context.breaks
              if gap.start < max(last, over) and gap.end > timer.started]
    return found


# --- other moments -----------------------------------------------------------------------------


def _results(context: Context) -> Iterator[Moment]:
    gone = context.state.history.withdrawn
    for result in context.state.history.results:
        if result.about in _RESULTS:
            reason = str(result.figures.get("reason") or "")
            what = "Charge worked out" if result.about == "charge" else judged_name(result.about)
            yield Moment("result", result.at, context.clock(result.at), what,
                         (reason,) if reason else (), name_words(result.verdict),
                         tone(result.verdict), result.seq in gone, context.heard(result.line))


def _choices(context: Context) -> Iterator[Moment]:
    """What was found beside a pressure test, and whatever was answered in more than one way."""
    procedure, history = context.state.procedure, context.state.history
    tested = {s.stage for s in procedure.steps if s.hold is not None and s.hold.judge == "nitrogen"}
    told = [b for b in history.branches if not b.why]
    answers: dict[str, set[str]] = {}
    for choice in told:
        answers.setdefault(choice.step, set()).add(choice.option)
    for choice in told:
        step = procedure.by_name.get(choice.step)
        if (step is not None and step.stage in tested) or len(answers[choice.step]) > 1:
            yield Moment("choice", choice.at, context.clock(choice.at), name_words(choice.step),
                         (), _chosen(context, choice), "", choice.seq in history.withdrawn,
                         context.heard(choice.line))


def _chosen(context: Context, choice: BranchChoice) -> str:
    step = context.state.procedure.by_name.get(choice.step)
    way = step.way(choice.option) if step is not None else None
    words = name_words(choice.option)
    return f"{words}: {way.text}" if way is not None and way.text else words


def _charges(context: Context) -> Iterator[Moment]:
    gone = context.state.history.withdrawn
    for reading in context.state.history.readings:
        if reading.quantity == CHARGE_ADDED:
            value = reading.now
            what = "Charge added" if value.si >= 0 else "Charge taken out"
            yield Moment("charge", reading.at, context.clock(reading.at), what, (),
                         context.with_units(value), "", reading.seq in gone,
                         context.heard(reading.line))


def _carried(context: Context, test: CarriedTest) -> Moment:
    facts = (f"held on {said_day(test.day)} by {test.by}", "not measured in this job")
    return Moment("carried", test.at, context.clock(test.at), judged_name(test.about), facts,
                  f"{name_words(test.verdict)}, carried over", "open",
                  test.seq in context.state.history.withdrawn, context.heard(test.line))
