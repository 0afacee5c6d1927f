"""The arithmetic of a result written out, line by line, from the figures that the log has of it."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from fieldvoice.quantity.constants import (
    KG_PER_OZ,
    M_PER_FOOT,
    PA_PER_PSI,
    k_to_f,
    microns,
    psig,
)
from fieldvoice.quantity.counted import counted
from fieldvoice.quantity.shares import percent
from fieldvoice.quantity.unit_systems import METRIC
from fieldvoice.quantity.units import shown
from fieldvoice.review.figures import headline
from fieldvoice.review.wording import Context, tone

Figures = Mapping[str, Any]


@dataclass(frozen=True)
class Sum:
    """A result with its arithmetic."""

    title: str
    tone: str
    time: str
    gone: bool
    lines: tuple[str, ...]
    source: str


def sums(context: Context) -> list[Sum]:
    """Of every result whose arithmetic can be written out, in order."""
    found = []
    for result in context.state.history.results:
        write = _WRITTEN.get(result.about)
        lines = tuple(_safely(write, result.figures, context)) if write else ()
        if lines:
            found.append(Sum(headline(result.about, result.verdict), tone(result.verdict),
                             context.clock(result.at),
                             result.seq in context.state.history.withdrawn, lines,
                             str(result.figures.get("source") or "")))
    return found


def _safely(
    write: Callable[[Figures, Context], Iterator[str]], figures: Figures, context: Context
) -> list[str]:
    """Nothing where a log made elsewhere lacks a figure."""
    try:
        return list(write(figures, context))
    except (KeyError, TypeError, ValueError, AttributeError):
        return []


def _nitrogen(f: Figures, context: Context) -> Iterator[str]:
    expected, air = f["expected"], context.job.site.atmosphere_pa
    start, end = expected["start_k"], expected["end_k"]
    metric = context.units == METRIC

    def pressure(pa: float) -> str:
        return f"{pa / 1000:,.1f} kPa" if metric else f"{pa / PA_PER_PSI:,.2f} psia"

    def gauge(pa: float) -> str:
        return f"{(pa - air) / 1000:,.1f} kPa gauge" if metric else f"{psig(pa, air):,.1f} psig"

    def warmth(kelvin: float) -> str:
        return f"{kelvin - 273.15:.1f} °C" if metric else f"{k_to_f(kelvin):.1f} °F"

    def loss(pa: float) -> str:
        return f"{pa / 1000:.1f} kPa" if metric else f"{pa / PA_PER_PSI:.1f} psi"

    yield (f"Start: {gauge(expected['start_pa'])} and {pressure(air)} of air make "
           f"{pressure(expected['start_pa'])} absolute, at {warmth(start)} = {start:.2f} K.")
    yield (f"At {warmth(end)} = {end:.2f} K: {pressure(expected['start_pa'])} * {end:.2f} K / "
           f"{start:.2f} K = {pressure(expected['ideal_pa'])}; as nitrogen really behaves "
           f"{pressure(expected['real_pa'])} = {gauge(expected['real_pa'])}.")
    yield (f"Read: {gauge(f['measured_pa'])}. Read less expected: {loss(f['deviation_pa'])}; "
           f"a loss of {loss(f['tolerance_pa'])} or more fails.")


def _charge(f: Figures, context: Context) -> Iterator[str]:
    metric = context.units == METRIC

    def length(m: float) -> str:
        return f"{shown(m)} m" if metric else f"{shown(m / M_PER_FOOT)} ft"

    def weight(kg: float) -> str:
        return f"{shown(kg * 1000)} g" if metric else f"{shown(kg / KG_PER_OZ)} oz"

    rate = f["adder_kg_per_m"]
    each = (f"{shown(rate * 1000)} g/m" if metric
            else f"{shown(rate / KG_PER_OZ * M_PER_FOOT)} oz/ft")
    covered = f["covered_m"]
    yield f"Line set: {each} * {length(f['length_m'])} = {weight(f['line_kg'])}."
    of = f": {each} * {length(covered)}" if covered is not None else ""
    yield f"Covered by the factory charge{of} = {weight(f['covered_kg'])}."
    way = "to add" if f["change_kg"] >= 0 else "to take out"
    yield (f"{weight(f['line_kg'])} - {weight(f['covered_kg'])} = {weight(f['change_kg'])}, "
           f"{way}.")


def _check(f: Figures, context: Context) -> Iterator[str]:
    line, metric = f["line"], context.units == METRIC

    def warmth(kelvin: float) -> str:
        return f"{kelvin - 273.15:.1f} °C" if metric else f"{k_to_f(kelvin):.1f} °F"

    def degrees(fahrenheit: float) -> str:
        return f"{fahrenheit / 1.8:.1f} K" if metric else f"{fahrenheit:.1f} °F"

    saturation, pipe = warmth(line["saturation_k"]), warmth(line["line_k"])
    pair = (saturation, pipe) if f["kind"] == "subcooling" else (pipe, saturation)
    yield (f"{line['refrigerant']} at {shown(line['pressure_pa'] / 1000)} kPa absolute: "
           f"{line['side']} point {saturation}.")
    wanted = "" if f["target_f"] is None else f"target {degrees(f['target_f'])}, "
    yield (f"{pair[0]} - {pair[1]} = {degrees(f['measured_f'])}; {wanted}"
           f"good from {degrees(f['low_f'])} to {degrees(f['high_f'])}.")


def _decay(f: Figures, context: Context) -> Iterator[str]:
    limits, last = f["limits"], f["readings"][-1]
    metric = context.units == METRIC

    def vacuum(pa: float) -> str:
        return f"{pa:.1f} Pa" if metric else counted(shown(round(microns(pa))), "micron")

    end, limit = last["pressure_pa"], limits["pass_below_pa"]
    yield (f"Limit {vacuum(limit)} at {shown(limits['hold_minutes'])} min ({limits['source']}); "
           f"read {vacuum(end)} at minute {last['minutes']:.1f}: {vacuum(abs(limit - end))} "
           f"{'below' if end <= limit else 'above'}.")
    chances = ", ".join(f"{name.replace('-', ' ')} {percent(share)}"
                        for name, share in f["chances"].items())
    if chances:
        yield f"How likely each cause is, by {counted(len(f['readings']), 'reading')}: {chances}."


_WRITTEN: Mapping[str, Callable[[Figures, Context], Iterator[str]]] = {
    "nitrogen": _nitrogen, "charge": _charge, "decay": _decay, "subcooling": _check,
    "superheat": _check, "valve-superheat": _check,
}
