"""Readings: resolved, doubted where they should be, logged, read back, and acted on."""

from __future__ import annotations

from datetime import timedelta
from decimal import Decimal

from fieldvoice.dialogue import holds, prompts, steps
from fieldvoice.dialogue.confidence import Decision
from fieldvoice.dialogue.facts import conflicts
from fieldvoice.dialogue.safeguards import coarse_gauge, plate, related
from fieldvoice.dialogue.times import marks
from fieldvoice.dialogue.turn import Turn
from fieldvoice.jobstate import events as e
from fieldvoice.jobstate.depths import EVERY_STEP, LIMITS_ONLY
from fieldvoice.jobstate.records import LoggedReading
from fieldvoice.jobstate.state import JobState
from fieldvoice.language import intents as i
from fieldvoice.procedure.step import Need
from fieldvoice.quantity import resolve_reading
from fieldvoice.quantity.plausible import surprising
from fieldvoice.quantity.quantities import speakable
from fieldvoice.quantity.resolve_reading import Resolved
from fieldvoice.quantity.resolve_unit import Refused
from fieldvoice.quantity.units import say

NEAR = 2.0  # a range that sounds like a number is many times smaller than it
STILL_COMPARABLE = timedelta(minutes=20)  # older readings say little about the next one


def expected(state: JobState) -> str | None:
    """The quantity that a number without one means now."""
    step, need = state.open_step, state.unmet()
    if need is not None:
        return need.quantity
    if step is not None and step.hold is not None and step.hold.quantity is not None:
        late = marks.missing(state) if state.hold is not None and state.hold.finished else []
        return late[0] if late else step.hold.quantity
    return step.needs[-1].quantity if step is not None and step.needs else None


def record(turn: Turn, intent: i.Reading, *, confirmed: bool = False) -> None:
    """Log a reading, or ask back when it is doubtful; `confirmed` readings are not doubted."""
    found = resolve(turn, intent)
    if isinstance(found, Refused):
        turn.refuse(found.reason)
        return
    doubt = None if confirmed else _doubt(turn, found)
    stated = plate.over(turn.state, found)
    if doubt is not None and stated is not None:
        turn.alarm(f"If so, over the plate: let it down now. {against(found, stated)}")
    if doubt is None:
        count(turn, found)
    else:
        exact = i.Reading(found.value, found.unit, found.quantity)
        ask_back(turn, exact, named(turn.state, found.quantity, found.value, found.unit), doubt)


def record_all(turn: Turn, intent: i.Readings) -> None:
    """Several readings of one breath, in the order said, or in that of the steps they serve."""
    left = list(intent.readings)
    while left:
        reading = wanted_first(turn.state, left)
        left.remove(reading)
        record(turn, reading)


def wanted_first(state: JobState, left: list[i.Reading]) -> i.Reading:
    """The reading to take next: where less is prompted, the one that the open step waits for."""
    wanted = None if state.depth == EVERY_STEP else expected(state)
    return next((r for r in left if r.quantity is not None and r.quantity == wanted), left[0])


def resolve(turn: Turn, intent: i.Reading) -> Resolved | Refused:
    """What was measured, or why not."""
    return resolve_reading.resolve(intent.value, intent.unit, intent.quantity,
                                   expected=expected(turn.state), site=turn.state.site)


def named(state: JobState, quantity: str, value: Decimal, unit: str) -> str:
    """A value as it is asked back: with its name where another quantity is waited for."""
    text = say(value, unit)
    if quantity == expected(state):
        return text
    return f"{speakable(quantity).capitalize()} {text}"


def ask_back(turn: Turn, intent: i.Intent, value: str, doubt: str) -> None:
    """Ask whether a value was meant; it counts only after a yes.

    While another question is open it waits behind that one, in the place of an earlier value of
    the same quantity.
    """
    assert turn.line is not None
    why = "confidence" if doubt == "" else "surprising"
    behind = turn.state.question is not None
    for question in turn.state.questions[1:]:
        if question.intent.get("quantity") == intent.to_dict().get("quantity"):
            turn.emit(e.Answered(question.seq, "replaced"))
    turn.emit(e.Asked(turn.line, why, intent.to_dict(), behind))
    if behind:
        turn.asked_again()
        turn.answer(f"{value}: I ask about that next.")
        return
    turn.ask(f"{value}? {doubt} Say yes, no, or the value again.".replace("  ", " "))


def _doubt(turn: Turn, found: Resolved) -> str | None:
    """Why a value should be read back: a sentence; empty when it was only heard badly."""
    surprise = surprise_at(turn, found)
    if surprise is not None:
        return surprise
    return "" if turn.decision is Decision.ASK else None


def surprise_at(turn: Turn, found: Resolved, leaving_out: int = 0) -> str | None:
    """Why a value is implausible after the recent ones; `leaving_out`: seq of one it replaces."""
    recent = [
        t.si for t in turn.state.readings[-50:]
        if t.quantity == found.quantity and t.seq != leaving_out
        and turn.now - t.at <= STILL_COMPARABLE
    ]
    need = need_for(turn, found.quantity)
    if need is not None and need.low and need.high and turn.state.within(need, found.si):
        recent = []  # the step has changed what to expect: 5 psig to sweep after 200 to test
    if turn.heard is not None and turn.heard.range_too and not _near(found.si, recent):
        return "That sounds like a range, too."
    return (plate.doubt(turn.state, found)
            or conflicts.other_amount(turn.state, found.quantity, found.si, leaving_out)
            or related.impossible(turn, found, leaving_out)
            or surprising(found, recent, site=turn.state.site))


def _near(value: float, recent: list[float]) -> bool:
    """Whether the reading before was so close that no other value makes sense."""
    last = recent[-1] if recent else 0.0
    return last > 0 and last / NEAR < value < last * NEAR


def count(turn: Turn, found: Resolved) -> None:
    """Log a reading that counts, read it back, and go on where that completes something."""
    state = turn.state
    step = state.open_step
    waited_for = found.quantity == expected(state)
    need = need_for(turn, found.quantity)
    hold, minute = _in_hold(turn, found.quantity)
    within = _within(turn, need, found.si, hold)
    stated = plate.over(state, found)
    unfit = coarse_gauge.unfit(state, found, need, hold is not None)
    turn.emit(e.ReadingTaken(
        found.quantity, str(found.value), found.unit, found.si, found.si_unit,
        step.name if step else "", turn.line, hold, minute, within if unfit is None else False,
        prompts.shown(stated) if stated is not None else None, unfit,
    ))
    if unfit is not None:
        turn.answer(f"{say(found.value, found.unit)} is noted, but does not count. {unfit}")
        return
    if stated is None:
        shown = _read_back(turn, found, need, within, waited_for, minute)
        # In a hold the minute was just told with the question: aloud the figure is enough.
        brief = f"{say(found.value, found.unit)}." if minute is not None and waited_for else None
        turn.say("answer", shown, brief)
    else:
        alarm(turn, against(found, stated))
    if need is not None and within is False and need.otherwise and _free(turn):
        why = f"{speakable(need.quantity)} is not {prompts.limit_words(state, need)}"
        steps.divert(turn, need.otherwise, "outside", why)
    else:
        _go_on(turn, found.quantity, need)


def alarm(turn: Turn, pressures: str) -> None:
    """A test pressure above the plate comes before all else, and is no ordinary miss."""
    turn.alarm(f"Over the plate. Let it down now. {pressures}")


def against(found: Resolved, stated: LoggedReading) -> str:
    """A test pressure and the plate that it lies above."""
    return f"{say(found.value, found.unit)}, plate {prompts.shown(stated)}."


def _go_on(turn: Turn, quantity: str, need: Need | None) -> None:
    step = turn.state.open_step
    if step is not None and step.hold is not None and quantity in step.hold.closing \
            and holds.close_hold(turn):
        return
    if need is not None and (turn.state.unmet() is None or turn.state.unmet() != need):
        steps.advance(turn)


def _free(turn: Turn) -> bool:
    """Nothing stands in the way of leaving the step."""
    return turn.state.question is None and not turn.state.unacknowledged()


def need_for(turn: Turn, quantity: str) -> Need | None:
    """The need of the open step that a reading of this quantity serves: unmet ones first."""
    first = turn.state.unmet()
    if first is not None and first.quantity == quantity:
        return first
    step = turn.state.open_step
    if step is not None and step.hold is not None and turn.state.hold is not None \
            and step.hold.quantity == quantity:
        return None  # while the hold runs, it owns the quantity
    fitting = [n for n in step.needs if n.quantity == quantity] if step else []
    return fitting[-1] if fitting else None


def _in_hold(turn: Turn, quantity: str) -> tuple[str | None, float | None]:
    step, timer = turn.state.open_step, turn.state.hold
    if step is None or step.hold is None or timer is None or step.hold.quantity != quantity:
        return None, None
    return step.name, timer.minutes(turn.now)


def _within(turn: Turn, need: Need | None, si: float, hold: str | None) -> bool | None:
    if need is not None:
        return turn.state.within(need, si)
    step = turn.state.open_step
    if hold is not None and step is not None and step.hold is not None and step.hold.limit:
        return si <= turn.state.limit_si(step.hold.limit) if step.hold.judge == "decay" else None
    return None


def _read_back(
    turn: Turn, found: Resolved, need: Need | None, within: bool | None, waited_for: bool,
    minute: float | None,
) -> str:
    text = say(found.value, found.unit)
    if not waited_for:
        text = f"{speakable(found.quantity).capitalize()} {text}"
    if minute is not None:
        when = f"minute {round(minute, 1):g}" if minute > 0.1 else "the start"
        return f"{text} at {when}."
    if need is None or within is None:
        return f"{text}."
    if within and turn.state.depth == LIMITS_ONLY:
        return f"{text}."
    return f"{text}, inside the limit." if within else f"{text}. {_outside(turn, found, need)}"


def _outside(turn: Turn, found: Resolved, need: Need) -> str:
    """Which limit a value misses: "The limit is at most 300 microns."."""
    below = need.low is not None and found.si < turn.state.limit_si(need.low)
    value = prompts.limit_said(turn.state, str(need.low if below else need.high))
    return f"That is below {value}." if below else f"That is above {value}."
