"""Computed figures in words: each name of a result becomes a label and a value with its unit.

The arithmetic names its figures with their unit at the end: `final_pa`, `line_k`, `volume_m3`.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Mapping, Sequence
from typing import Any

from fieldvoice.quantity.constants import (
    KG_PER_OZ,
    M_PER_FOOT,
    PA_PER_ATM,
    PA_PER_PSI,
    c_to_f,
    k_to_f,
    microns,
    psig,
)
from fieldvoice.quantity.shares import percent
from fieldvoice.quantity.units import say, shown

Row = tuple[str, str]

_VACUUM_BELOW_PA = 13_000.0  # absolute pressures below are shown as a vacuum gauge shows them
_SHARES = ("confidence", "sure_at", "forgiven", "probability", "chance_of_reaching")
_DIFFERENCES = (
    "deviation", "uncertainty", "difference", "glide", "split", "tolerance", "resolution",
    "thermometer",
)
_SENTENCES = ("reason", "why", "note", "next_action", "caution")
_LEFT_OUT = (*_SENTENCES, "verdict", "about", "kind")

# ending of a figure's name -> how its value is shown; the longest ending that fits is used
_ENDINGS: dict[str, Callable[[float], str]] = {
    "_pa_per_min": lambda v: f"{say(microns(v), 'microns')} a minute",
    "_pa_per_hour": lambda v: f"{shown(v / PA_PER_PSI)} psi an hour",
    "_pa_m3_per_s": lambda v: f"{v:.3g} Pa·m³/s",
    "_micron_l_per_s": lambda v: f"{v:.3g} micron·L/s",
    "_mbar_l_per_s": lambda v: f"{v:.3g} mbar·L/s",
    "_mol_per_s": lambda v: f"{v:.3g} mol/s",
    "_kg_per_year": lambda v: f"{shown(v / KG_PER_OZ)} oz a year ({shown(v)} kg)",
    "_m3_per_s": lambda v: f"{shown(v * 1000)} L/s",
    "_microns": lambda v: say(v, "microns"),
    "_psig": lambda v: say(v, "psig"),
    "_psi": lambda v: f"{shown(v)} psi",
    "_f": lambda v: f"{v:.1f} °F",
    "_c": lambda v: f"{c_to_f(v):.1f} °F ({v:.1f} °C)",
    "_k": lambda v: f"{k_to_f(v):.1f} °F ({v - 273.15:.1f} °C)",
    "_oz_per_ft": lambda v: f"{shown(v)} oz/ft",
    "_kg_per_m": lambda v: f"{shown(v / KG_PER_OZ * M_PER_FOOT)} oz/ft ({shown(v * 1000)} g/m)",
    "_kg_m3": lambda v: f"{shown(v)} kg/m³",
    "_m3": lambda v: f"{shown(v * 1000)} L",
    "_kg": lambda v: f"{shown(v / KG_PER_OZ)} oz ({shown(v)} kg)",
    "_oz": lambda v: say(v, "oz"),
    "_m": lambda v: f"{shown(v / M_PER_FOOT)} ft ({shown(v)} m)",
    "_ft": lambda v: say(v, "ft"),
    "_w": lambda v: f"{shown(v)} W",
    "_minutes": lambda v: say(v, "min"),
    "_min": lambda v: say(v, "min"),
    "_seconds": lambda v: say(v, "s"),
    "_s": lambda v: say(v, "s"),
    "_pa": lambda v: say(v, "Pa"),  # differences; absolute pressures: _pressure
}
_MEASURED = {"_pa": "pressure", "_k": "temperature", "_m": "length", "_kg": "mass"}
_SAME = {"_f": "_k", "_oz": "_kg"}
_BY_LENGTH = sorted(_ENDINGS, key=len, reverse=True)


def judged_name(about: str) -> str:
    """What a person calls what was judged: "Standing vacuum" for "decay"."""
    names = {"decay": "Standing vacuum", "nitrogen": "Nitrogen tightness test"}
    return names.get(about, about.replace("-", " ").capitalize())


def headline(about: str, verdict: str) -> str:
    """What was judged, and how: "Standing vacuum: tight"."""
    name = judged_name(about)
    words = verdict.replace("-", " ") if verdict.replace("-", "").isalpha() else verdict
    return f"{name}: {words}"


def sentences(figures: Mapping[str, Any]) -> list[str]:
    """The result's own sentences: why, and what to do next."""
    found = (figures.get(key) for key in _SENTENCES)
    return [text for text in found if isinstance(text, str) and text]


def rows(figures: Mapping[str, Any], atmosphere_pa: float = PA_PER_ATM) -> list[Row]:
    """Labels and values of every figure that is known, nested ones flattened, in their order.

    Absolute pressures are shown in microns, or in psig against `atmosphere_pa` when they are not
    a vacuum. Readings used as inputs are listed as "0 min 310 microns, ...".
    """
    found: list[Row] = []
    for name, value in figures.items():
        if value is None or value in ((), [], {}, "") or name in _LEFT_OUT:
            continue
        if _told_already(name, figures):
            continue
        if isinstance(value, Mapping):
            found += _nested(name, value, atmosphere_pa)
        else:
            found.append((_own_label(name, figures), _value(name, value, atmosphere_pa)))
    return found


def _nested(name: str, value: Mapping[str, Any], atmosphere_pa: float) -> list[Row]:
    if all(isinstance(v, float) and 0 <= v <= 1 for v in value.values()):
        shares = ", ".join(f"{k.replace('-', ' ')} {_share(v)}" for k, v in value.items())
        return [(_label(name), shares)]
    inner = rows(value, atmosphere_pa)
    return [(f"{_label(name)}: {label[:1].lower()}{label[1:]}", text) for label, text in inner]


def _own_label(name: str, figures: Mapping[str, Any]) -> str:
    """The label; with what is measured where another figure would have the same one."""
    label, ending = _label(name), _ending(name) or ""
    alike = [other for other in figures
             if other != name and _label(other) == label and _ending(other) in _MEASURED]
    return f"{label} {_MEASURED[ending]}" if alike and ending in _MEASURED else label


def _told_already(name: str, figures: Mapping[str, Any]) -> bool:
    """Whether the same figure is there in SI, which is shown in the trade's unit too."""
    return any(name.endswith(unit) and name.removesuffix(unit) + si in figures
               for unit, si in _SAME.items())


def _label(name: str) -> str:
    ending = _ending(name)
    if ending is not None and name.endswith(ending):
        name = name.removesuffix(ending)
    words = name.replace("_", " ").replace("-", " ").strip()
    return words[:1].upper() + words[1:]


def _ending(name: str) -> str | None:
    return next((e for e in _BY_LENGTH if name.endswith(e) or name == e.removeprefix("_")), None)


def _value(name: str, value: Any, atmosphere_pa: float) -> str:
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, int | float):
        return _number(name, float(value), atmosphere_pa)
    if isinstance(value, Sequence) and not isinstance(value, str):
        return _several(value, atmosphere_pa)
    return str(value)


def _number(name: str, value: float, atmosphere_pa: float) -> str:
    if name in _SHARES:
        return _share(value)
    ending = _ending(name)
    if ending is None:
        return shown(value)
    if any(word in name for word in _DIFFERENCES):
        return _difference(value, ending)
    return _pressure(value, atmosphere_pa) if ending == "_pa" else _ENDINGS[ending](value)


def _difference(value: float, ending: str) -> str:
    """Differences: a temperature one has no zero, a pressure one no gauge."""
    if ending == "_k":
        return f"{shown(value * 1.8)} °F ({shown(value)} K)"
    if ending == "_pa" and abs(value) >= 100:
        return f"{shown(value / PA_PER_PSI)} psi ({say(value / 1000, 'kPa')})"
    return _ENDINGS[ending](value)


def _pressure(pressure_pa: float, atmosphere_pa: float) -> str:
    if pressure_pa < _VACUUM_BELOW_PA:
        return f"{say(microns(pressure_pa), 'microns')} ({say(pressure_pa, 'Pa')})"
    gauge = say(psig(pressure_pa, atmosphere_pa), "psig")
    return f"{gauge} ({say(pressure_pa / 1000, 'kPa')} absolute)"


def _share(value: float) -> str:
    """A probability, finer where it nears certainty."""
    return percent(value, 1 if value > 0.99 or value < 0.01 else 0)


def _several(values: Sequence[Any], atmosphere_pa: float) -> str:
    parts = []
    for value in values:
        if isinstance(value, Mapping):
            known = ((k, v) for k, v in value.items() if v is not None)
            parts.append(" ".join(_value(k, v, atmosphere_pa) for k, v in known))
        elif isinstance(value, Sequence) and not isinstance(value, str) and len(value) == 2:
            name = str(value[0])
            parts.append(f"{_label(name).lower()} {_value(name, value[1], atmosphere_pa)}")
        else:
            parts.append(_value("", value, atmosphere_pa))
    return ", ".join(re.sub(r" \([^)]*\)$", "", part) for part in parts)
