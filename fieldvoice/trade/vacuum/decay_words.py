"""The decay verdict in short plain sentences, and the result that carries them."""

from __future__ import annotations

from dataclasses import dataclass

from fieldvoice.quantity.constants import KELVIN_AT_0_C, PA_PER_MICRON, c_to_f, microns
from fieldvoice.trade.vacuum import water
from fieldvoice.trade.vacuum.decay_types import DecayLimits, DecayVerdict, VacuumReading, Verdict

_CAUSES = (Verdict.TIGHT, Verdict.WET, Verdict.LEAKING)
SMALL = 0.1  # share of the levelling part under which a steady part is not worth a word
NOT_EXCLUDED = "A level below that of water at pipe temperature does not exclude water."
CAVEAT = "A decay test of minutes cannot see the very small leaks that codes speak of."


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
    minutes_more: float | None
    last_min: float
    outliers: tuple[int, ...]


def put(
    found: Findings, readings: tuple[VacuumReading, ...], limits: DecayLimits,
    volume_m3: float | None, ambient_c: float | None,
) -> DecayVerdict:
    """Build the result: leak rates, water temperature, reason and next action."""
    plateau_c = _water_temperature_c(found.plateau)
    leak = None
    if volume_m3 is not None and found.verdict is Verdict.LEAKING:
        leak = found.steady / 60.0 * volume_m3
    return DecayVerdict(
        verdict=found.verdict, confidence=max(found.chances),
        chances=tuple(zip(_CAUSES, found.chances, strict=True)), model=found.model,
        rise_rate_pa_per_min=found.rise_rate, final_pa=found.final_pa, plateau_pa=found.plateau,
        water_temperature_c=plateau_c,
        water_phase=None if found.plateau is None else water.phase_for(found.plateau),
        leak_rate_pa_m3_per_s=leak,
        leak_rate_micron_l_per_s=None if leak is None else leak * 1000.0 / PA_PER_MICRON,
        minutes_more=found.minutes_more, outliers=found.outliers,
        reason=_reason(found, limits, plateau_c, ambient_c), next_action=_next(found, limits),
        readings=readings, limits=limits, volume_m3=volume_m3, ambient_c=ambient_c,
    )


def falling(
    readings: tuple[VacuumReading, ...], limits: DecayLimits, volume_m3: float | None,
    ambient_c: float | None, outliers: tuple[int, ...],
) -> DecayVerdict:
    """The answer to a pressure that falls while it should stand: not isolated, start again."""
    reason = f"{_um(readings[-1].pressure_pa)} and falling: something is still pulling on it."
    action = "Shut the valve to the pump, check it, and start the hold again."
    return _no_hold(readings, limits, volume_m3, ambient_c, outliers, reason, action)


def not_low_enough(
    readings: tuple[VacuumReading, ...], limits: DecayLimits, volume_m3: float | None,
    ambient_c: float | None, outliers: tuple[int, ...],
) -> DecayVerdict:
    """The answer to a hold begun above its own limit, without a rise: pull further first."""
    limit = _um(limits.pass_below_pa)
    reason = (f"{_um(readings[-1].pressure_pa)}, hardly rising, but the hold began above "
              f"{limit}: it was not pulled low enough.")
    action = f"Pull to well below {limit}, then start the hold again."
    return _no_hold(readings, limits, volume_m3, ambient_c, outliers, reason, action)


def _no_hold(
    readings: tuple[VacuumReading, ...], limits: DecayLimits, volume_m3: float | None,
    ambient_c: float | None, outliers: tuple[int, ...], reason: str, action: str,
) -> DecayVerdict:
    """Not yet clear, because these readings are no hold at all: a whole new one is needed."""
    first, last = readings[0], readings[-1]
    rate = (last.pressure_pa - first.pressure_pa) / (last.minutes - first.minutes)
    return DecayVerdict(
        Verdict.NOT_YET_CLEAR, 1.0 / 3.0, tuple((c, 1.0 / 3.0) for c in _CAUSES), "flat", rate,
        last.pressure_pa, None, None, None, None, None, limits.hold_minutes, outliers, reason,
        action, readings, limits, volume_m3, ambient_c,
    )


def too_few(
    readings: tuple[VacuumReading, ...], limits: DecayLimits, volume_m3: float | None,
    ambient_c: float | None,
) -> DecayVerdict:
    """The answer to fewer than three readings: not yet clear."""
    last = readings[-1] if readings else VacuumReading(0.0, limits.pass_below_pa)
    more = max(limits.hold_minutes - last.minutes, 2.0)
    said = {0: "No readings yet", 1: "Only one reading", 2: "Only two readings"}[len(readings)]
    return DecayVerdict(
        Verdict.NOT_YET_CLEAR, 1.0 / 3.0, tuple((c, 1.0 / 3.0) for c in _CAUSES), "flat", 0.0,
        last.pressure_pa, None, None, None, None, None, more, (),
        f"{said}; a verdict needs at least three.",
        f"Keep it isolated and read the gauge again over {_minutes(more)}.",
        readings, limits, volume_m3, ambient_c,
    )


def _water_temperature_c(plateau: float | None) -> float | None:
    return None if plateau is None else water.temperature_at_k(plateau) - KELVIN_AT_0_C


def _reason(
    found: Findings, limits: DecayLimits, plateau_c: float | None, ambient_c: float | None
) -> str:
    sentences = [_seen(found, limits)]
    if found.verdict is Verdict.WET:
        sentences.append(NOT_EXCLUDED if plateau_c is None else
                         _plateau_words(found, plateau_c, ambient_c))
    if found.outliers:
        listed = " and ".join(str(i + 1) for i in found.outliers)
        noun = "reading" if len(found.outliers) == 1 else "readings"
        sentences.append(f"I set {noun} {listed} aside: it does not fit the others."
                         if noun == "reading" else
                         f"I set {noun} {listed} aside: they do not fit the others.")
    return " ".join(sentences)


def _seen(found: Findings, limits: DecayLimits) -> str:
    level = f"{_um(found.final_pa)} after {_minutes(found.last_min)}"
    rate = f"rising {_um(max(found.rise_rate, 0.0))} a minute"
    limit = _um(limits.pass_below_pa)
    if found.verdict is Verdict.TIGHT:
        return f"{level}, {rate}: within {limit} for the hold."
    if found.verdict is Verdict.WET:
        if found.steady * limits.hold_minutes > limits.pass_below_pa and found.steady_share > SMALL:
            return (f"{level}, and the rise is slowing: moisture or outgassing, mostly; "
                    f"{_um(found.steady)} a minute may be a leak as well.")
        return f"{level}, and the rise is slowing: moisture or outgassing, not a steady leak."
    if found.verdict is Verdict.LEAKING:
        over = "above" if found.final_pa > limits.pass_below_pa else "heading past"
        return f"{level}, {over} {limit} and {rate} without slowing: a leak."
    if found.likeliest is Verdict.TIGHT and found.last_min < limits.hold_minutes:
        return f"{level}, {rate}: good so far, but the hold is not over."
    return f"{level}, {rate}: it may be {_two_likeliest(found)}."


def _two_likeliest(found: Findings) -> str:
    order = sorted(range(3), key=lambda i: -found.chances[i])[:2]
    return " or ".join(_CAUSES[i].value for i in order)


def _plateau_words(found: Findings, plateau_c: float, ambient_c: float | None) -> str:
    assert found.plateau is not None
    kind = "ice" if water.phase_for(found.plateau) == "ice" else "water"
    text = (f"It is heading for about {_um(found.plateau)}, the vapour pressure of {kind} at "
            f"{c_to_f(plateau_c):.0f} °F.")
    if ambient_c is not None and plateau_c > ambient_c + 1.0:
        return text + " That is warmer than the pipe, so water alone does not explain it."
    if ambient_c is None or plateau_c < ambient_c - 2.0:
        return f"{text} {NOT_EXCLUDED}"
    return text + " That matches water at pipe temperature."


def _next(found: Findings, limits: DecayLimits) -> str:
    if found.verdict is Verdict.TIGHT:
        return "Note the reading and go on. " + CAVEAT
    if found.verdict is Verdict.WET:
        return ("Break the vacuum with dry nitrogen, warm the cold spots, change the pump oil, "
                "evacuate again, and repeat the hold.")
    if found.verdict is Verdict.LEAKING:
        return ("First blank off gauge, hoses and core tools to clear them. Then pressurize with "
                "dry nitrogen, never oxygen, and search the joints with bubbles.")
    more = found.minutes_more or 0.0
    if more <= 0:
        return "Take another reading now."
    if limits.hold_minutes - found.last_min > 0 and more <= limits.hold_minutes - found.last_min:
        return f"Finish the hold: {_minutes(more)} more."
    return f"Keep it isolated and read each minute for {_minutes(more)} more."


def _um(pressure_pa: float) -> str:
    value = microns(pressure_pa)
    if value >= 1000:
        return f"{round(value, -1):.0f} microns"
    return f"{value:.0f} microns" if value >= 10 else f"{value:.1f} microns"


def _minutes(value: float) -> str:
    number = f"{value:.1f}".rstrip("0").rstrip(".")
    return f"{number} minute" + ("" if number == "1" else "s")
