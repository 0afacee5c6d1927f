"""Make trade/refrigerant/refrigerants.csv with CoolProp: `python -m ...studies.refrigerant_tables`.

CoolProp is needed only here and in the tests: importing it takes seconds. R-410A is its
pseudo-pure fluid, since the mixture fails at ordinary condensing pressures. R-454B exists only as
a mixture that fails at scattered points from 133 F up; there pressure follows a polynomial in 1/T,
and density one in the cube root of 1 - T/Tc, through every warm point that does converge. The
tests hold the result to a printed chart's end points.
"""

from __future__ import annotations

import csv
import sys
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

FLUIDS = {  # CoolProp's name, and the highest temperature tabulated, K: well below critical
    "R-410A": ("R410A", 341.0), "R-32": ("R32", 345.0), "R-454B": ("R454B.mix", 339.0),
    "R-22": ("R22", 360.0), "R-134a": ("R134a", 365.0),
}
LOW_K, STEP_K = 210.0, 1.0  # from -81 F, so that R-410A is served down to 8 psia
COLUMNS = ("P", "D")  # pressure Pa, density kg/m3
DEGREE = 6
FITTED_ABOVE_K = 290.0  # the curve through the converged points starts here
MIXTURE_CRITICAL_K = 351.3  # R-454B; density bends as the cube root of the distance to it
OUTLYING = 2e-4  # relative distance from the smooth curve at which a mixture point is dropped


def main() -> None:
    """Write the table and say what was filled in."""
    target = Path(__file__).parent.parent / "refrigerant" / "refrigerants.csv"
    with target.open("w", newline="", encoding="utf-8") as file:
        writer = csv.writer(file, lineterminator="\n")
        writer.writerow(["refrigerant", "k", "bubble_pa", "dew_pa", "liquid_kg_m3", "vapour_kg_m3"])
        for name, (fluid, high_k) in FLUIDS.items():
            kelvin = np.arange(LOW_K, high_k + STEP_K / 2, STEP_K)
            curves = [_curve(fluid, kelvin, out, q) for out in COLUMNS for q in (0, 1)]
            for row in zip(kelvin, *curves, strict=True):
                writer.writerow([name, *(f"{value:.7g}" for value in row)])
    print(f"wrote {target.name}", file=sys.stderr)


def _curve(
    fluid: str, kelvin: NDArray[np.float64], output: str, quality: int
) -> NDArray[np.float64]:
    """One saturation property along the grid, gaps and outliers filled by a smooth fit."""
    values = np.array([_value(fluid, float(t), output, quality) for t in kelvin])
    x = 1000.0 / kelvin if output == "P" else np.cbrt(1.0 - kelvin / MIXTURE_CRITICAL_K)
    good, warm = np.isfinite(values), kelvin > FITTED_ABOVE_K
    while True:
        fit = np.polynomial.Polynomial.fit(x[good & warm], np.log(values[good & warm]), DEGREE)
        off = np.abs(np.log(np.where(good, values, 1.0)) - fit(x)) * (good & warm)
        if not fluid.endswith(".mix") or off.max() < OUTLYING:
            break
        good[int(off.argmax())] = False
    if not good.all():
        gaps = ", ".join(f"{t:.0f}" for t in kelvin[~good])
        print(f"{fluid} {output} quality {quality}: filled at {gaps} K", file=sys.stderr)
    return np.where(good, values, np.exp(fit(x)))


def _value(fluid: str, kelvin: float, output: str, quality: int) -> float:
    from CoolProp.CoolProp import PropsSI

    try:
        return float(PropsSI(output, "T", kelvin, "Q", quality, fluid))
    except ValueError:
        return float("nan")


if __name__ == "__main__":
    main()
