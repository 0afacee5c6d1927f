"""Computed figures in words: each name of a result becomes a label and a value with its unit."""

from __future__ import annotations

import re
from collections.abc import Mapping, Sequence
from typing import Any

from fieldvoice.job.units import say, shown
from fieldvoice.trade.units import KG_PER_OZ, M_PER_FOOT, PA_PER_PSI, c_to_f, k_to_f, microns

Row = tuple[str, str]

# ending of a figure's name -> how its value is shown; the longest ending that fits is used
_ENDINGS = {
    "_pa_per_min": lambda v: f"{say(microns(v), 'microns')} a minute",
    "_pa_m3_per_s": lambda v: f"{v:.3g} Pa·m³/s",
    "_micron_l_per_s": lambda v: f"{v:.3g} micron·L/s",
    "_mbar_l_per_s": lambda v: f"{v:.3g} mbar·L/s",
    "_mol_per_s": lambda v: f"{v:.3g} mol/s",
    "_microns": lambda v: say(v, "microns"),
    "_psig": lambda v: say(v, "psig"),
    "_psi": lambda v: f"{shown(v)} psi",
    "_pa": lambda v: _pressure(v),
    "_f": lambda v: f"{v:.1f} °F",
    "_c": lambda v: f"{v:.1f} °C ({c_to_f(v):.1f} °F)",
    "_oz_per_ft": lambda v: f"{shown(v)} oz/ft",
    "_kg_m3": lambda v: f"{shown(v)} kg/m³",
    "_m3": lambda v: f"{shown(v * 1000)} L",
    "_kg": lambda v: f"{shown(v)} kg ({shown(v / KG_PER_OZ)} oz)",
    "_oz": lambda v: say(v, "oz"),
    "_m": lambda v: f"{shown(v)} m ({shown(v / M_PER_FOOT)} ft)",
    "_ft": lambda v: say(v, "ft"),
    "_minutes": lambda v: say(v, "min"),
    "_min": lambda v: say(v, "min"),
    "_seconds": lambda v: say(v, "s"),
    "_s": lambda v: say(v, "s"),
    "_k": lambda v: f"{v - 273.15:.1f} °C ({k_to_f(v):.1f} °F)",
    "difference_k": lambda v: f"{shown(v * 1.8)} °F ({shown(v)} K)",
    "glide_k": lambda v: f"{shown(v * 1.8)} °F ({shown(v)} K)",
    "tolerance_k": lambda v: f"{shown(v * 1.8)} °F ({shown(v)} K)",
}
_SHARES = ("confidence", "sure_at", "probability")


def _pressure(pressure_pa: float) -> str:
    """Absolute pressure: microns where a vacuum gauge reads, psi above; Pa or kPa beside it."""
    if pressure_pa < 13_000:
        return f"{say(microns(pressure_pa), 'microns')} ({say(pressure_pa, 'Pa')})"
    return f"{say(pressure_pa / PA_PER_PSI, 'psia')} ({say(pressure_pa / 1000, 'kPa')})"


def headline(about: str, verdict: str) -> str:
    """What was judged, and how: "Standing vacuum: tight"."""
    names = {"decay": "Standing vacuum", "nitrogen": "Nitrogen tightness test"}
    return f"{names.get(about, about.replace('-', ' ').capitalize())}: {verdict.replace('-', ' ')}"


def said_sentences(figures: Mapping[str, Any]) -> list[str]:
    """The result's own sentences: why, and what to do next."""
    keys = ("reason", "why", "note", "next_action", "caution")
    found = (figures.get(key) for key in keys)
    return [text for text in found if isinstance(text, str) and text]


_SENTENCES = ("reason", "why", "note", "next_action", "caution", "verdict", "about")


def rows(figures: Mapping[str, Any]) -> list[Row]:
    """Labels and values of every figure that is known, nested ones flattened, in their order.

    Readings used as inputs are listed as "0 min 310 microns, ...".
    """
    found: list[Row] = []
    for name, value in figures.items():
        if value is None or value in ((), [], {}, "") or name in _SENTENCES:
            continue
        if isinstance(value, Mapping):
            found += _nested(name, value)
        else:
            found.append((_label(name), _value(name, value)))
    return found


def _nested(name: str, value: Mapping[str, Any]) -> list[Row]:
    if all(isinstance(v, int | float) and 0 <= v <= 1 for v in value.values()):
        shares = ", ".join(f"{k.replace('-', ' ')} {_share(v)}" for k, v in value.items())
        return [(_label(name), shares)]
    return [(f"{_label(name)}: {label.lower()}", text) for label, text in rows(value)]


def _label(name: str) -> str:
    for ending in sorted(_ENDINGS, key=len, reverse=True):
        if ending.startswith("_") and name.endswith(ending) and name != ending:
            name = name.removesuffix(ending)
            break
    words = name.removesuffix("_k").replace("_", " ").replace("-", " ").strip()
    return words[:1].upper() + words[1:]


def _value(name: str, value: Any) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, int | float):
        return _number(name, float(value))
    if isinstance(value, Sequence) and not isinstance(value, str):
        return _several(value)
    return str(value).replace("-", " ") if name == "model" else str(value)


def _number(name: str, value: float) -> str:
    if name in _SHARES:
        return _share(value)
    for ending in sorted(_ENDINGS, key=len, reverse=True):
        if name.endswith(ending) or name == ending.removeprefix("_"):
            return _ENDINGS[ending](value)
    return shown(value)


def _share(value: float) -> str:
    """A probability; never so round that it sounds certain."""
    if value > 0.999 or value < 0.001:
        return "over 99.9%" if value > 0.5 else "under 0.1%"
    return f"{value:.1%}" if value > 0.99 or value < 0.01 else f"{value:.0%}"


def _several(values: Sequence[Any]) -> str:
    parts = []
    for value in values:
        if isinstance(value, Mapping):
            parts.append(" ".join(_value(k, v) for k, v in value.items()))
        elif isinstance(value, Sequence) and not isinstance(value, str) and len(value) == 2:
            parts.append(f"{_label(str(value[0])).lower()} {_value(str(value[0]), value[1])}")
        else:
            parts.append(_value("", value))
    return ", ".join(re.sub(r" \([^)]*\)$", "", part) for part in parts)
