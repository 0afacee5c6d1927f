"""Questions of the technician, answered from the job state and the arithmetic of the trade."""

from __future__ import annotations

from datetime import timedelta
from typing import Any

from fieldvoice.dialogue import hold_verdict, holds, prompts
from fieldvoice.dialogue.calculation_inputs import Missing, fact, need
from fieldvoice.dialogue.order import carry_over
from fieldvoice.dialogue.questions.answering import difference, query, result, temperature
from fieldvoice.dialogue.turn import Turn
from fieldvoice.jobstate import timers
from fieldvoice.jobstate.records import LoggedReading
from fieldvoice.jobstate.state import JobState
from fieldvoice.jobstate.timers import say_ago, say_duration
from fieldvoice.language import intents as i
from fieldvoice.quantity.amount import amount_si
from fieldvoice.quantity.convert import from_si
from fieldvoice.quantity.quantities import speakable
from fieldvoice.quantity.resolve_reading import resolve
from fieldvoice.quantity.resolve_unit import Refused
from fieldvoice.quantity.units import say
from fieldvoice.trade.charge import charge_trim
from fieldvoice.trade.charge import target_superheat as targets
from fieldvoice.trade.refrigerant import saturation
from fieldvoice.trade.vacuum import pumpdown, water
from fieldvoice.trade.vacuum.decay_types import VacuumReading


@query
def last(turn: Turn, intent: i.AskLast) -> None:
    """The last reading, of one quantity or of any."""
    last = turn.state.last(intent.quantity)
    if last is None:
        what = speakable(intent.quantity) if intent.quantity else "reading"
        raise Missing(f"No {what} has been logged yet.")
    name = speakable(last.quantity).capitalize()
    turn.answer(f"{name}: {prompts.shown(last)}, {ago(turn, last)}.")


def ago(turn: Turn, taken: LoggedReading) -> str:
    """How long ago a reading was taken: "2 minutes ago"."""
    passed = turn.now - taken.at
    if passed < timedelta(minutes=1):
        return "just now" if passed < timedelta(seconds=10) else f"{say_duration(passed)} ago"
    minutes = timedelta(minutes=round(passed / timedelta(minutes=1)))
    return say_ago(minutes)


@query
def elapsed(turn: Turn, _intent: i.Intent) -> None:
    """How long the hold and the timers have run."""
    known = timers.running(turn.state.timers.values())
    if not known:
        raise Missing("No hold and no timer runs.")
    for timer in known:
        passed, left = turn.now - timer.started, timer.remaining(turn.now)
        turn.answer(f"{timer.label.capitalize()}: {say_duration(passed)} so far, "
                    f"{say_duration(left)} left.")


@query
def verdict(turn: Turn, _intent: i.Intent) -> None:
    """The verdict of the hold so far, or the last one given."""
    step = turn.state.open_step
    if step and step.hold and step.hold.judge and turn.state.hold:
        judged = holds.verdict_now(turn, step.hold)
        if judged is not None:
            turn.say("answer", f"So far: {judged.words}", f"So far: {judged.spoken}")
        return
    given = [g for g in turn.state.results if g.about in ("decay", "nitrogen")]
    carried = turn.state.tests_carried
    if carried and (not given or carried[-1].seq > given[-1].seq):
        turn.answer(carry_over.verdict_words(carried[-1]))
        return
    if not given:
        raise Missing("No hold has been judged yet. Start the hold and give me readings.")
    reason = str(given[-1].figures.get("reason", ""))
    turn.answer(f"The last verdict was {given[-1].verdict.replace('-', ' ')}. {reason}".strip())


@query
def boiling_point(turn: Turn, _intent: i.Intent) -> None:
    """At what temperature water boils at the last vacuum."""
    vacuum = need(turn.state, "vacuum", "boiling point")
    kelvin = water.temperature_at_k(vacuum.si)
    unit = turn.state.site.temperature_unit
    at = say(round(from_si(kelvin, unit)), unit)
    what = "ice gives off vapour" if water.phase_for(vacuum.si) == "ice" else "water boils"
    turn.answer(f"At {prompts.shown(vacuum)}, {what} at {at}.")


@query
def superheat(turn: Turn, _intent: i.Intent) -> None:
    """The superheat by the last suction pressure and line temperature."""
    pressure = need(turn.state, "suction-pressure", "superheat")
    line = need(turn.state, "suction-temperature", "superheat")
    name = fact(turn.state, "refrigerant", "superheat")
    _line_condition(turn, saturation.superheat(name, pressure.si, line.si))


@query
def subcooling(turn: Turn, _intent: i.Intent) -> None:
    """The subcooling by the last liquid pressure and line temperature."""
    pressure = need(turn.state, "liquid-pressure", "subcooling")
    line = need(turn.state, "liquid-temperature", "subcooling")
    name = fact(turn.state, "refrigerant", "subcooling")
    _line_condition(turn, saturation.subcooling(name, pressure.si, line.si))


def _line_condition(turn: Turn, found: saturation.LineCondition) -> None:
    value = difference(turn, found.difference_k)
    saturated = temperature(turn, found.saturation_k)
    result(turn, found.kind, value, found.to_dict())
    said = f"{found.kind.capitalize()} {value}: {found.side} {saturated}."
    turn.answer(f"{said} {found.note}".strip())


@query
def target_superheat(turn: Turn, _intent: i.Intent) -> None:
    """The target superheat of a fixed orifice at the conditions read."""
    wet = need(turn.state, "indoor-wet-bulb", "target superheat")
    outdoor = need(turn.state, "outdoor-temperature", "target superheat")
    found = targets.target_superheat(wet.si, outdoor.si)
    value = difference(turn, found.target_f / 1.8)
    result(turn, "target-superheat", value, found.to_dict())
    turn.answer(f"Target superheat {value}, fixed orifice. The unit's own chart wins.")


@query
def charge_correction(turn: Turn, _intent: i.Intent) -> None:
    """The charge correction for this line set."""
    what = "charge correction"
    length = need(turn.state, "line-length", what)
    name = fact(turn.state, "refrigerant", what)
    size = fact(turn.state, "liquid-line", what)
    given = turn.state.facts
    if _by_mass(turn.state):
        covered = {"covered_kg": amount_si("covered-charge", given["covered-charge"], "mass")}
    else:
        length_told = fact(turn.state, "covered-length", what)
        covered = {"covered_m": amount_si("covered-length", length_told, "length")}
    adder = (amount_si("adder", given["adder"], "mass per length") if "adder" in given else None)
    found = charge_trim.charge_trim(name, size, length.si, adder_kg_per_m=adder, **covered)
    value = say(round(from_si(found.change_kg, "oz"), 1), "oz")
    result(turn, "charge", value, found.to_dict())
    turn.answer(f"{found.next_action} {found.reason}")


def _by_mass(state: JobState) -> bool:
    """Whether the covered mass counts, not the length: the one that was told last."""
    if "covered-charge" not in state.facts or "covered-length" not in state.facts:
        return "covered-charge" in state.facts
    told = [state.told[n].seq if n in state.told else 0
            for n in ("covered-charge", "covered-length")]
    return told[0] >= told[1]


@query
def forecast(turn: Turn, intent: i.AskForecast) -> None:
    """How long until the vacuum reaches a value."""
    target = _forecast_target(turn, intent)
    pull = _this_pull(turn)
    if len(pull) < 3:
        raise Missing("For a forecast I need three vacuum readings of this pull; "
                      f"I have {len(pull)}.")
    start = pull[0].at
    blank = turn.state.last("blank-off")
    if blank is not None and blank.now.unfit:
        blank = None
    found = pumpdown.forecast_pull(
        [VacuumReading((t.at - start).total_seconds() / 60.0, t.si) for t in pull], target,
        ambient_c=hold_verdict.ambient_c(turn.state), blank_off_pa=blank.si if blank else None,
    )
    result(turn, "forecast", found.reason, found.to_dict())
    turn.answer(f"{found.reason} {found.next_action}")


def _forecast_target(turn: Turn, intent: i.AskForecast) -> float:
    if intent.value is not None:
        found = resolve(intent.value, intent.unit, "vacuum", site=turn.state.site)
        if isinstance(found, Refused):
            raise Missing(found.reason)
        return found.si
    step = turn.state.open_step
    limits = [n.high for n in step.needs if n.quantity == "vacuum" and n.high] if step else []
    if not limits:
        raise Missing("This step has no vacuum to reach. "
                      "Say, for example: how long to five hundred.")
    return turn.state.limit_si(limits[0])


def _this_pull(turn: Turn) -> list[LoggedReading]:
    """Vacuum readings since the pump went on: back to the last hold or nitrogen, one a moment."""
    found: dict[Any, LoggedReading] = {}
    for taken in reversed(turn.state.readings):
        if taken.hold is not None or taken.quantity == "nitrogen-pressure":
            break
        if taken.quantity == "vacuum" and not taken.now.unfit:
            found.setdefault(taken.at, taken)
    return list(found.values())[::-1]
