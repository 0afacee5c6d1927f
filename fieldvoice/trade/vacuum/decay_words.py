"""The decay verdict in short plain sentences, and the result that carries them.

What was read is quoted as read; what a curve through the readings says is called so.
"""

from __future__ import annotations

from dataclasses import dataclass

from fieldvoice.quantity.constants import KELVIN_AT_0_C, PA_PER_MICRON
from fieldvoice.trade.refrigerant import refrigerants
from fieldvoice.trade.vacuum import water
from fieldvoice.trade.vacuum.decay_causes import CAUSES, SMALL
from fieldvoice.trade.vacuum.decay_figures import in_minutes, mass, minute, read_at, um, warmth
from fieldvoice.trade.vacuum.decay_types import DecayVerdict, Hold, VacuumReading, Verdict
from fieldvoice.trade.vacuum.leak_rate import kg_a_year

NOT_EXCLUDED = "A level below that of water at pipe temperature does not exclude water."
NEAR_PIPE_C = 3.0  # water this much colder or warmer than the pipe is not told from water at it
LITRE_M3 = 1e-3
COUNTED_IN = "R-410A"  # when the refrigerant is not known
FEW_TIMES_HOLD = 2.5  # after which waiting on seldom settles it


@dataclass(frozen=True)
class Findings:
    """What the fits say, before it is put into words; Pa and minutes."""

    verdict: Verdict
    likeliest: Verdict
    chances: tuple[float, ...]
    model: str
    rise_rate: float
    final_pa: float
    plateau: float | None
    steady: float
    steady_share: float  # of the part that levels off
    missed_rate: float  # steady rise that the readings leave room for
    minutes_more: float | None
    outliers: tuple[int, ...]
    pegged: int = 0  # how many of the last readings stand at the gauge's top


def put(found: Findings, hold: Hold) -> DecayVerdict:
    """Build the result: leak rates, water temperature, reason and next action."""
    plateau_c = _water_temperature_c(found.plateau, hold.ambient_c)
    leak = missed = missed_kg = None
    if hold.volume_m3 is not None and found.verdict is Verdict.LEAKING:
        leak = found.steady / 60.0 * hold.volume_m3
    if found.verdict is Verdict.TIGHT and hold.volume_m3 is not None:
        missed = found.missed_rate / 60.0 * hold.volume_m3
        missed_kg = kg_a_year(missed, _counted_in(hold).molar_kg)
    named = found.plateau is not None and plateau_c is not None
    return DecayVerdict(
        verdict=found.verdict, confidence=max(found.chances),
        chances=tuple(zip(CAUSES, found.chances, strict=True)), model=found.model,
        fitted_rise_pa_per_min=found.rise_rate, fitted_final_pa=found.final_pa,
        plateau_pa=found.plateau, water_temperature_c=plateau_c,
        water_phase=water.phase_for(found.plateau) if named and found.plateau else None,
        leak_rate_pa_m3_per_s=leak,
        leak_rate_micron_l_per_s=None if leak is None else leak * 1000.0 / PA_PER_MICRON,
        missed_leak_pa_m3_per_s=missed, missed_leak_kg_per_year=missed_kg,
        minutes_more=found.minutes_more, outliers=found.outliers,
        reason=_reason(found, hold, plateau_c), next_action=_next(found, hold),
        readings=hold.readings, limits=hold.limits, volume_m3=hold.volume_m3,
        ambient_c=hold.ambient_c, refrigerant=hold.refrigerant,
        stands_above=max(1.0 - sum(found.chances), 0.0),
    )


def _water_temperature_c(plateau: float | None, ambient_c: float | None) -> float | None:
    """Of water with the plateau's pressure; None where the pipe is warmer than that.

    A level below that of water at the pipe is as well a little water wholly evaporated.
    """
    if plateau is None:
        return None
    found = water.temperature_at_k(plateau) - KELVIN_AT_0_C
    return None if ambient_c is None or found < ambient_c - NEAR_PIPE_C else found


def _reason(found: Findings, hold: Hold, plateau_c: float | None) -> str:
    sentences = [_seen(found, hold), *_curve(found, hold, plateau_c)]
    if found.pegged:
        since = minute(hold.readings[-found.pegged].minutes)
        sentences.append(f"From {since} on the gauge is at its top.")
    if found.outliers:
        listed = " and ".join(str(i + 1) for i in found.outliers)
        one = len(found.outliers) == 1
        sentences.append(f"I set {'reading' if one else 'readings'} {listed} aside: "
                         f"{'it does' if one else 'they do'} not fit the others.")
    return " ".join(sentences)


def _quoted(found: Findings, hold: Hold) -> VacuumReading:
    """The reading that counts: of a tight hold the one at its end, or else the last one kept."""
    moving = hold.readings[: len(hold.readings) - found.pegged]
    kept = [r for i, r in enumerate(moving) if i not in found.outliers]
    at_end = [r for r in kept if abs(r.minutes - hold.limits.hold_minutes) <= 0.5]
    return at_end[-1] if found.verdict is Verdict.TIGHT and at_end else kept[-1]


def _seen(found: Findings, hold: Hold) -> str:
    read, limit = _quoted(found, hold), hold.limits.pass_below_pa
    level = f"{read_at(read)}, limit {um(limit, bare=True)}"
    if found.verdict is Verdict.TIGHT:
        return f"{level}: it kept within the limit for the hold."
    if found.verdict is Verdict.WET:
        return f"{level}, and the rise is slowing: moisture or outgassing{_beside(found, hold)}."
    if found.verdict is Verdict.LEAKING:
        if read.pressure_pa > limit:
            return f"{level}, and the rise is steady: a leak."
        return f"{level}, and a steady rise would break it in another hold: a leak."
    if found.likeliest is Verdict.TIGHT and read.minutes < hold.limits.hold_minutes:
        return f"{level}: good so far, but the hold is not over."
    return f"{level}: {_open_question(found)}"


def _beside(found: Findings, hold: Hold) -> str:
    steady = found.steady * hold.limits.hold_minutes
    if steady > hold.limits.pass_below_pa and found.steady_share > SMALL:
        return f", mostly; {um(found.steady)} a minute may be a leak as well"
    return ", not a steady leak"


def _open_question(found: Findings) -> str:
    pair = _two_likeliest(found)
    if pair == {Verdict.WET, Verdict.LEAKING}:
        return "moisture or a leak, not to be told apart yet."
    if pair == {Verdict.TIGHT, Verdict.LEAKING}:
        return "tight or a slow leak, too close to call."
    return "tight or a little moist, too close to call."


def _two_likeliest(found: Findings) -> set[Verdict]:
    order = sorted(range(len(CAUSES)), key=lambda i: -found.chances[i])
    return {CAUSES[i] for i in order[:2]}


def _curve(found: Findings, hold: Hold, plateau_c: float | None) -> list[str]:
    """What a curve through the readings adds."""
    rises = f"A curve through the readings rises {um(max(found.rise_rate, 0.0))} a minute there."
    if found.verdict is Verdict.WET:
        return [_plateau_words(found, hold, plateau_c)]
    if found.verdict is Verdict.NOT_YET_CLEAR and Verdict.TIGHT not in _two_likeliest(found):
        return [rises, _telling_apart(hold)]
    return [rises]


def _telling_apart(hold: Hold) -> str:
    level = "the pressure of water at the pipe"
    if hold.ambient_c is not None:
        at_pipe = water.vapour_pressure_pa(hold.ambient_c + KELVIN_AT_0_C)
        level += f" ({um(at_pipe)} at {warmth(hold.ambient_c)})"
    return (f"Moisture slows as it nears {level}, and rises faster when the coldest spot is "
            "warmed; a leak does neither.")


def _plateau_words(found: Findings, hold: Hold, plateau_c: float | None) -> str:
    if found.plateau is None:
        return NOT_EXCLUDED
    text = f"A curve through the readings levels off near {um(found.plateau)}."
    if plateau_c is None or hold.ambient_c is None:
        return f"{text} {NOT_EXCLUDED}"
    if plateau_c > hold.ambient_c + NEAR_PIPE_C:
        return (f"{text} Water would have to be at {warmth(plateau_c)} for that, warmer than the "
                "pipe, so water alone does not explain it.")
    return f"{text} That matches water at pipe temperature."


def _next(found: Findings, hold: Hold) -> str:
    if found.verdict is Verdict.TIGHT:
        return "Note the reading and go on. " + _caveat(found, hold)
    if found.verdict is Verdict.WET:
        return ("Break the vacuum with dry nitrogen, warm the cold spots, change the pump oil, "
                "evacuate again, and repeat the hold.")
    if found.verdict is Verdict.LEAKING:
        return ("First blank off gauge, hoses and core tools to clear them. Then pressurize with "
                "dry nitrogen, never oxygen, and search the joints with bubbles.")
    return _wait(found, hold)


def _wait(found: Findings, hold: Hold) -> str:
    more, last = found.minutes_more or 0.0, _quoted(found, hold).minutes
    left = hold.limits.hold_minutes - last
    if more <= 0:
        return "Take another reading now."
    if 0 < more <= left:
        return f"Finish the hold: {in_minutes(more)} more."
    often = "each minute" if more <= 10 else "every few minutes"
    text = f"Keep it isolated and read {often} for {in_minutes(more)} more."
    if last >= FEW_TIMES_HOLD * hold.limits.hold_minutes:
        text += " Or do not wait: prove it with dry nitrogen, then evacuate again."
    return text


def _counted_in(hold: Hold) -> refrigerants.Refrigerant:
    """The refrigerant of the job, however written; another one where it is not known."""
    # "drained" or the like is nothing that a vacuum test has to refuse
    return refrigerants.known(hold.refrigerant) or refrigerants.refrigerant(COUNTED_IN)


def _caveat(found: Findings, hold: Hold) -> str:
    """The leak that this hold could have missed, in mass a year."""
    gas = _counted_in(hold)
    volume = LITRE_M3 if hold.volume_m3 is None else hold.volume_m3
    lost = kg_a_year(found.missed_rate / 60.0 * volume, gas.molar_kg)
    per = " for each litre of the system" if hold.volume_m3 is None else ""
    return (f"A leak that lifts it {um(found.missed_rate)} a minute could hide in this hold: "
            f"{mass(lost)} of {gas.name} a year{per}, counted molecule for molecule of the air "
            "that comes in; more goes out at running pressure.")
