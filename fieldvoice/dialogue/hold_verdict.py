"""The verdict of a hold, computed from its readings by the arithmetic of the trade."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import Any

from fieldvoice.dialogue.calculation_inputs import Missing, fact, need, system_volume
from fieldvoice.dialogue.order import own_length
from fieldvoice.jobstate.records import LoggedReading
from fieldvoice.jobstate.state import JobState
from fieldvoice.procedure.step import Check, Hold
from fieldvoice.quantity.amount import amount_si
from fieldvoice.quantity.constants import KELVIN_AT_0_C
from fieldvoice.quantity.counted import counted
from fieldvoice.quantity.units import say
from fieldvoice.trade.charge import charge_check, target_superheat
from fieldvoice.trade.charge.charge_check import ChargeCheck
from fieldvoice.trade.errors import TradeError
from fieldvoice.trade.nitrogen.tightness_test import FORGIVEN, Holding, judge_nitrogen
from fieldvoice.trade.refrigerant import refrigerants, saturation
from fieldvoice.trade.vacuum.decay import DecayLimits, VacuumReading, judge_decay


@dataclass(frozen=True)
class Judged:
    """A verdict with its reasons; `minutes_more` is set when waiting would settle it."""

    about: str  # a key of procedure.VERDICTS
    verdict: str
    reason: str
    next_action: str
    figures: Mapping[str, Any]
    minutes_more: float | None = None

    @property
    def words(self) -> str:
        """As the screen shows it."""
        return f"{self._head} {self.reason} {self.next_action}".strip()

    @property
    def spoken(self) -> str:
        """As the ear can keep it: the verdict, what was seen, and the first thing to do."""
        return f"{self._head} {_first(self.reason)} {_first(self.next_action)}".strip()

    @property
    def _head(self) -> str:
        return f"Verdict: {self.verdict.replace('-', ' ')}."


def _first(sentences: str) -> str:
    first, dot, _ = sentences.partition(". ")
    return first + "." if dot else first


def judge(state: JobState, hold: Hold, taken: Sequence[LoggedReading]) -> Judged:
    """Judge a hold by its readings. Raises TradeError when the figures cannot be judged."""
    assert hold.judge is not None
    judged = _JUDGES[hold.judge](state, hold, _one_a_moment(taken))
    own = own_length.said(state, hold)
    return replace(judged, reason=f"{judged.reason} {own}",
                   figures={**judged.figures, "own_length": own}) if own else judged


def check(state: JobState, wanted: Check) -> Judged:
    """Compare with a target; Missing for what is not known, TradeError for what cannot be."""
    about = wanted.kind
    kind = "subcooling" if about == "subcooling" else "superheat"
    name = fact(state, "refrigerant", kind)
    side = "suction" if kind == "superheat" else "liquid"
    pressure, line = (need(state, f"{side}-{what}", kind) for what in ("pressure", "temperature"))
    found = (saturation.superheat if kind == "superheat" else saturation.subcooling)(
        name, pressure.si, line.si)
    result = _against(state, wanted, found.difference_f)
    figures = {**result.to_dict(), "line": found.to_dict()}
    return Judged(about, result.verdict, result.reason, result.next_action, figures)


def _against(state: JobState, wanted: Check, measured_f: float) -> ChargeCheck:
    """The comparison that the step asks for, of a superheat or subcooling in F degrees."""
    degrees = state.site.temperature_unit
    if wanted.kind == "valve-superheat":
        return charge_check.check_valve_superheat(measured_f, degrees=degrees)
    if wanted.kind == "superheat":
        wet, outdoor = (need(state, quantity, wanted.kind)
                        for quantity in ("indoor-wet-bulb", "outdoor-temperature"))
        target = target_superheat.target_superheat(wet.si, outdoor.si).target_f
        return charge_check.check_superheat(measured_f, target, degrees=degrees)
    assert wanted.limit is not None
    target = state.limit_si(wanted.limit) * 1.8
    return charge_check.check_subcooling(measured_f, target, degrees=degrees)


def _one_a_moment(taken: Sequence[LoggedReading]) -> list[LoggedReading]:
    """Readings in growing time; of two in the same moment the later one counts."""
    by_minute = {t.minute: t for t in taken if t.minute is not None}
    return [by_minute[m] for m in sorted(by_minute)]


def _decay(state: JobState, hold: Hold, taken: Sequence[LoggedReading]) -> Judged:
    assert hold.limit is not None
    limit = state.limit(hold.limit)
    minutes = own_length.in_force_s(state, hold) / 60.0
    name = f"{say(limit.value, limit.unit)}, {counted(f'{minutes:g}', 'minute')}"
    volume_m3, volume_of = system_volume(state)
    found = judge_decay(
        [VacuumReading(t.minute or 0.0, t.si) for t in taken],
        limits=DecayLimits(name, state.limit_si(hold.limit), minutes, limit.source),
        volume_m3=volume_m3,
        ambient_c=ambient_c(state),
        refrigerant=state.facts.get("refrigerant"),
    )
    return Judged("decay", found.verdict.value, found.reason, found.next_action,
                  {**found.to_dict(), "volume_of": volume_of}, found.minutes_more)


def _last_si(state: JobState, quantity: str) -> float | None:
    last = state.last(quantity)
    return None if last is None else last.si


def ambient_c(state: JobState) -> float | None:
    """The last ambient or outdoor temperature read, else the one told, C; None: there is none."""
    for quantity in ("ambient-temperature", "outdoor-temperature"):
        kelvin = _last_si(state, quantity)
        if kelvin is not None:
            return kelvin - KELVIN_AT_0_C
    told = state.facts.get("ambient")
    return None if told is None else amount_si("ambient", told, "temperature") - KELVIN_AT_0_C


def _nitrogen(state: JobState, hold: Hold, taken: Sequence[LoggedReading]) -> Judged:
    """First against last pressure of the hold, each with the temperature nearest to it in time."""
    assert hold.limit is not None
    warmths = [t for t in state.readings if t.quantity == "ambient-temperature"]
    if not warmths:
        raise TradeError("a nitrogen test needs the ambient temperature at its start and end")
    if len(taken) < 2:
        return _one_pressure(state, hold)
    first, last = taken[0], taken[-1]
    volume_m3, volume_of = system_volume(state)
    refrigerant = refrigerants.known(state.facts.get("refrigerant"))
    found = judge_nitrogen(
        first.si, _nearest(warmths, first).si, last.si, _nearest(warmths, last).si,
        (last.minute or 0.0) - (first.minute or 0.0),
        volume_m3=volume_m3,
        gauge_resolution_pa=state.limit_si(hold.limit),
        hold_minutes=own_length.in_force_s(state, hold) / 60.0,
        forgiven=FORGIVEN if hold.forgiven is None else state.limit_si(hold.forgiven),
        atmosphere_pa=state.site.atmosphere_pa,
        refrigerant=refrigerant.name if refrigerant else None,
        degrees=state.site.temperature_unit,
    )
    verdict = _NITROGEN[found.verdict]
    return Judged("nitrogen", verdict, found.reason, found.next_action,
                  {**found.to_dict(), "volume_of": volume_of}, found.minutes_more)


def _one_pressure(state: JobState, hold: Hold) -> Judged:
    more = own_length.in_force_s(state, hold) / 60.0
    reason = "Only one pressure was read; a verdict compares the start with the end."
    action = (f"Hold for {counted(f'{more:g}', 'minute')} more and read pressure and "
              "temperature again.")
    return Judged("nitrogen", "not-yet-clear", reason, action, {"reason": reason}, more)


def _nearest(warmths: Sequence[LoggedReading], to: LoggedReading) -> LoggedReading:
    return min(warmths, key=lambda t: abs((t.at - to.at).total_seconds()))


_NITROGEN = {
    Holding.HOLDS: "passed", Holding.LOSING: "failed", Holding.GAINING: "gaining",
    Holding.NOT_YET_CLEAR: "not-yet-clear",
}
_JUDGES: dict[str, Callable[[JobState, Hold, Sequence[LoggedReading]], Judged]] = {
    "decay": _decay, "nitrogen": _nitrogen,
}

__all__ = ["Judged", "Missing", "TradeError", "check", "judge"]
