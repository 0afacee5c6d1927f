"""What the open step says: its prompt with values filled in, its cautions, and help."""

from __future__ import annotations

from datetime import datetime
from decimal import Decimal

from fieldvoice.dialogue.facts import passing
from fieldvoice.dialogue.order import answer_examples
from fieldvoice.dialogue.safeguards.caution_words import caution_told
from fieldvoice.dialogue.turn import Turn
from fieldvoice.jobstate.records import LoggedReading, Question
from fieldvoice.jobstate.state import JobState
from fieldvoice.jobstate.timers import say_duration
from fieldvoice.procedure.check import PLACEHOLDER
from fieldvoice.procedure.step import Need, Step
from fieldvoice.quantity.facts import facts
from fieldvoice.quantity.quantities import quantities, speakable
from fieldvoice.quantity.resolve_reading import Resolved, resolve
from fieldvoice.quantity.site_units import in_site_unit, say_at
from fieldvoice.quantity.units import say, unit_words

DEFERS = "Local code, the equipment's instructions and your licence decide; this only reminds."


def fill(text: str, state: JobState, now: datetime) -> str:
    """The text with its {placeholders} replaced from the job state."""
    return PLACEHOLDER.sub(lambda found: _value(found[1], state, now), text)


def _value(key: str, state: JobState, now: datetime) -> str:
    what, _, name = key.partition(".")
    if what == "limit":
        return limit_said(state, name)
    if what == "hold":
        step, hold = state.open_step, state.hold
        if name == "title":
            return step.hold.title if step and step.hold else "hold"
        return say_duration(hold.remaining(now)) if hold else "no hold runs"
    if what in ("lap", "laps"):
        return _lap(what, state)
    if what == "answer":
        return (state.answer(name) or "not chosen").replace("-", " ")
    last = state.last(what)
    return shown(last) if last else "no reading yet"


def _lap(what: str, state: JobState) -> str:
    """Which round of the nearest repeat this is; the repeat stands in this step or below it."""
    steps = state.procedure.steps
    here = next((n for n, s in enumerate(steps) if s.name == state.step), 0)
    closing = next((s for s in steps[here:] if s.repeat), None)
    if closing is None or closing.repeat is None:
        return "1"
    times = closing.repeat.times
    return str(times if what == "laps" else state.laps(closing.name) % times + 1)


def step_words(state: JobState) -> str:
    """The open step's name as words."""
    return (state.step or "").replace("-", " ")


def shown(reading: LoggedReading) -> str:
    """A reading as text: "412 microns"."""
    return say(reading.now.value, reading.now.unit)


def limit_said(state: JobState, name: str) -> str:
    """A limit as text, degrees in the unit that the site works in: "500 microns"."""
    limit = state.limit(name)
    return say_at(limit.value, limit.unit, state.site)


def limit_words(state: JobState, need: Need) -> str:
    """The limits of a need: "at most 500 microns"."""
    low, high = (limit_said(state, n) if n else None for n in (need.low, need.high))
    if low and high:
        return f"between {low} and {high}"
    return f"at most {high}" if high else f"at least {low}" if low else ""


def present(turn: Turn, *, every_caution: bool = False, after: str | None = None) -> None:
    """Say the cautions of the open step, then its prompt.

    A caution that must be acknowledged waits for its own "understood" before anything more is
    said; `after` names the one that has just been. A caution that the step before has just given
    is not given twice in a row, unless `every_caution` asks for it: who hears one thing too often
    stops hearing it.
    """
    step = turn.state.open_step
    if step is None:
        return
    waiting = turn.state.unacknowledged()
    just_given = () if every_caution else _cautions_before(turn)
    for name in step.cautions[step.cautions.index(after) + 1 if after else 0:]:
        if name in just_given and name not in waiting:
            continue
        caution = turn.state.procedure.cautions[name]
        if name in waiting:
            spoken = f"{caution.text} Say understood."
            turn.say("caution", f"{spoken}\n{DEFERS}", spoken)
            return
        turn.say("caution", caution.text, caution_told(turn.state, name, turn.now))
    prompt(turn)


def _cautions_before(turn: Turn) -> tuple[str, ...]:
    left = turn.state.trail[-1] if turn.state.trail else None
    return turn.state.procedure.step(left.step).cautions if left and not left.skipped else ()


def prompt(turn: Turn, before: str = "") -> None:
    """Say what the open step asks for; `before`: what is listed before it, for the screen."""
    step = turn.state.open_step
    if step is None:
        return
    said = fill(step.say, turn.state, turn.now)
    more = fill(step.show, turn.state, turn.now)
    options = [w for w in step.choices + step.exits if w.text]
    listed = "\n".join(f"  {w.name.replace('-', ' ')}: {w.text}" for w in options)
    text = "\n".join(part for part in (said, before, more, listed) if part)
    turn.say("prompt", text, None if text == said else said)


def waits_for(state: JobState) -> str:
    """What the open step still needs, as one sentence."""
    step = state.open_step
    if step is None:
        return "The job is finished." if state.finished else "No step is open."
    if state.unacknowledged():
        return "First the caution: say understood."
    need, fact = state.unmet(), passing.wanted(state)
    if need is not None:
        return _need_words(state, need)
    if fact is not None:
        return passing.waits_words(fact)
    if step.hold is not None:
        return _hold_words(state, step)
    if step.choices:
        return f"Choose: {options_words(step)}."
    return "Say next when it is done."


def _need_words(state: JobState, need: Need) -> str:
    wanted = f"I need the {speakable(need.quantity)}"
    if limit := limit_words(state, need):
        wanted += f", {limit}"
    if need.times > 1:
        good = [t for t in state.here(need.quantity) if t.now.within is not False]
        wanted += f", {need.times - len(good)} more of {need.times}"
    return wanted + "."


def _hold_words(state: JobState, step: Step) -> str:
    assert step.hold is not None
    hold = state.hold
    if hold is None:
        return f"Say start the hold to begin the {step.hold.title}."
    if hold.running:
        return f"The {step.hold.title} runs."
    if step.hold.judge:
        wanted = " and ".join(speakable(q) for q in step.hold.closing)
        return f"The time is up. I need a final {wanted}."
    if step.choices:
        return f"Choose: {options_words(step)}."
    return "Say next when it is done."


def options_words(step: Step) -> str:
    """The choices of a step: "single pull, or triple"."""
    names = [w.name.replace("-", " ") for w in step.choices]
    return ", ".join(names[:-1]) + f", or {names[-1]}" if len(names) > 1 else names[0]


def examples(state: JobState) -> list[str]:
    """Three things that can be said now and that fit the step."""
    found: list[str] = []
    step = state.open_step
    if state.question is not None:
        found = _answers(state.question)
    elif step is not None:
        found = _step_examples(state, step)
    elif state.finished:
        found = ["where are we", "take a note", "repeat"]
    return list(dict.fromkeys([*found, "what now", "take that back", "where are we"]))[:3]


def _answers(question: Question) -> list[str]:
    out_of_turn = answer_examples.examples(question)
    if out_of_turn:
        return out_of_turn
    if question.why == "reason":
        return ["no access", "not needed", "no"]
    if question.why == "name":
        return ["no", "the name"]
    asks_value = question.why in ("confidence", "surprising")
    if asks_value and question.intent.get("intent") == "reading":
        return ["yes", "no", "the value again"]
    return ["yes", "no", "never mind"]


def _step_examples(state: JobState, step: Step) -> list[str]:
    if state.unacknowledged():
        return ["understood", "say again"]
    need, hold = state.unmet(), state.hold
    if need is not None:
        return [_need_example(state, need), "skip"]
    fact = passing.wanted(state)
    if fact is not None:
        return [facts()[fact].said, "skip"]
    if step.hold is not None and hold is None:
        return ["start the hold", "why"]
    if step.hold is not None and step.hold.quantity:
        asked = ["verdict"] if step.hold.judge == "decay" else []
        return [_reading_example(step.hold.quantity), "how long left", *asked]
    if hold is not None and hold.running:
        return ["how long left", "add two minutes", "stop the hold"]
    if step.choices:
        return [w.name.replace("-", " ") for w in step.choices[:2]]
    return ["next", "why"]


def _need_example(state: JobState, need: Need) -> str:
    """A reading inside the limits of a need: the usual one, or one worked out from the limits."""
    about = quantities()[need.quantity]
    found = resolve(about.example.value, None, need.quantity, site=state.site)
    if isinstance(found, Resolved) and state.within(need, found.si) is not False:
        return _reading_example(need.quantity)
    named = [state.limit(name) for name in need.limits]
    limits = [in_site_unit(limit.value, limit.unit, state.site) for limit in named]
    if not limits or len({unit for _, unit in limits}) > 1:
        return _reading_example(need.quantity)
    share = Decimal(1) if len(limits) == 2 else Decimal("0.8") if need.high else Decimal("1.2")
    value = share * sum(value for value, _ in limits) / len(limits)
    figure = value.quantize(Decimal(1) if abs(value) >= 2 else Decimal("0.1"))
    name = "" if need.quantity == "vacuum" else f"{about.called} "
    return f"{name}{say(figure, limits[0][1])}"


def _reading_example(quantity: str) -> str:
    about = quantities()[quantity]
    number = about.example.said
    if quantity == "vacuum":
        return f"{number} microns"
    if about.unit in ("psig", "degrees"):  # the quantity says which
        return f"{about.called} {number}"
    return f"{about.called} {number} {unit_words(2, about.unit)}"
