"""Make trade/refrigerant/refrigerants.csv with CoolProp: `python -m ...studies.refrigerant_tables`.

CoolProp is needed only here and in the tests: importing it takes seconds. Which fluid a refrigerant
is to it says refrigerants.toml. A mixture fails at scattered points when warm; there pressure
follows a polynomial in 1/T, and density one in the cube root of 1 - T/Tc, through every warm point
that does converge. The tests hold the result to printed charts.
"""

from __future__ import annotations

import csv
import sys
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from fieldvoice.trade.errors import TradeError
from fieldvoice.trade.refrigerant.refrigerants import Fluid, fluids

STEP_K = 1.0
COLUMNS = ("P", "D")  # pressure Pa, density kg/m3
DEGREE = 6
FITTED_ABOVE_K = 290.0  # the curve through the converged points starts here
OUTLYING = 2e-4  # relative distance from the smooth curve at which a mixture point is dropped


def main() -> None:
    """Write the table and say what was filled in."""
    target = Path(__file__).parent.parent / "refrigerant" / "refrigerants.csv"
    with target.open("w", newline="", encoding="utf-8") as file:
        writer = csv.writer(file, lineterminator="\n")
        writer.writerow(["refrigerant", "k", "bubble_pa", "dew_pa", "liquid_kg_m3", "vapour_kg_m3"])
        for name, (about, fluid) in fluids().items():
            kelvin = np.arange(about.low_k, about.high_k + STEP_K / 2, STEP_K)
            curves = [_curve(fluid, kelvin, out, q) for out in COLUMNS for q in (0, 1)]
            for row in zip(kelvin, *curves, strict=True):
                writer.writerow([name, *(f"{value:.7g}" for value in row)])
    print(f"wrote {target.name}", file=sys.stderr)


def _curve(
    fluid: Fluid, kelvin: NDArray[np.float64], output: str, quality: int
) -> NDArray[np.float64]:
    """One saturation property along the grid; a mixture's gaps and outliers by a smooth fit."""
    values = np.array([_value(fluid.coolprop, float(t), output, quality) for t in kelvin])
    if fluid.critical_k is None:
        if not np.isfinite(values).all():
            raise TradeError(f"{fluid.coolprop} has no saturation at "
                             f"{kelvin[~np.isfinite(values)][0]:g} K: narrow its range")
        return values
    x = 1000.0 / kelvin if output == "P" else np.cbrt(1.0 - kelvin / fluid.critical_k)
    good, warm = np.isfinite(values), kelvin > FITTED_ABOVE_K
    while True:
        fit = np.polynomial.Polynomial.fit(x[good & warm], np.log(values[good & warm]), DEGREE)
        off = np.abs(np.log(np.where(good, values, 1.0)) - fit(x)) * (good & warm)
        if off.max() < OUTLYING:
            break
        good[int(off.argmax())] = False
    if not good.all():
        gaps = ", ".join(f"{t:.0f}" for t in kelvin[~good])
        print(f"{fluid.coolprop} {output} quality {quality}: filled at {gaps} K", file=sys.stderr)
    return np.where(good, values, np.exp(fit(x)))


def _value(fluid: str, kelvin: float, output: str, quality: int) -> float:
    from CoolProp.CoolProp import PropsSI

    try:
        return float(PropsSI(output, "T", kelvin, "Q", quality, fluid))
    except ValueError:
        return float("nan")


if __name__ == "__main__":
    main()
