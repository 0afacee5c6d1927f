"""Make trade/refrigerant/refrigerants.csv with CoolProp: `python -m ...studies.refrigerant_tables`.

CoolProp is needed only here and in the tests: importing it takes seconds. Which fluid a refrigerant
is to it says refrigerants.toml. A mixture fails at scattered points when warm; there pressure
follows a polynomial in 1/T, and density one in the cube root of 1 - T/Tc, through every warm point
that does converge. The tests hold the result to printed charts.
"""

from __future__ import annotations

import sys
from collections.abc import Iterator
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from fieldvoice.trade.errors import TradeError
from fieldvoice.trade.refrigerant.refrigerants import Fluid, fluids

TABLE = Path(__file__).parent.parent / "refrigerant" / "refrigerants.csv"
STEP_K = 1.0
COLUMNS = ("P", "D")  # pressure Pa, density kg/m3
DEGREE = 6
FITTED_ABOVE_K = 290.0  # the curve through the converged points starts here
FILLED_AT_MOST = 0.05  # of a mixture's points; the shipped ones need 4 in 130
OUTLYING = 2e-4  # relative distance from the smooth curve at which a mixture point is dropped


def main(target: Path = TABLE) -> None:
    """Write the table and say what was filled in; after a failure the file is as it was."""
    made = "\n".join(_lines()) + "\n"
    target.write_text(made, "utf-8")
    print(f"wrote {target.name}", file=sys.stderr)


def _lines() -> Iterator[str]:
    from CoolProp import __version__

    yield (f"# CoolProp {__version__} equations of state, tabulated each kelvin "
           "(studies/refrigerant_tables.py)")
    yield "refrigerant,k,bubble_pa,dew_pa,liquid_kg_m3,vapour_kg_m3"
    for name, (about, fluid) in fluids().items():
        kelvin = np.arange(about.low_k, about.high_k + STEP_K / 2, STEP_K)
        curves = [curve(fluid, kelvin, out, q) for out in COLUMNS for q in (0, 1)]
        for row in zip(kelvin, *curves, strict=True):
            yield ",".join([name, *(f"{value:.7g}" for value in row)])


def curve(
    fluid: Fluid, kelvin: NDArray[np.float64], output: str, quality: int
) -> NDArray[np.float64]:
    """One saturation property along the grid; a mixture's gaps and outliers by a smooth fit.

    TradeError where CoolProp knows no such fluid, where a pure fluid has no saturation, and where
    a mixture fails at its coldest or warmest point or too often: a fit does not go on by itself.
    """
    values = np.array([_value(fluid.coolprop, float(t), output, quality) for t in kelvin])
    good = np.isfinite(values)
    if not good.any():
        raise TradeError(f"CoolProp computes nothing for {fluid.coolprop!r} from {kelvin[0]:g} to "
                         f"{kelvin[-1]:g} K ({_reason(fluid.coolprop, float(kelvin[0]))}): "
                         "correct its name, coolprop, in refrigerants.toml")
    if fluid.critical_k is None or not (good[0] and good[-1]):
        if not good.all():
            raise TradeError(f"{fluid.coolprop} has no saturation at {kelvin[~good][0]:g} K: "
                             "narrow its range")
        return values
    return _filled(fluid, kelvin, values, f"{output} quality {quality}",
                   1000.0 / kelvin if output == "P" else np.cbrt(1.0 - kelvin / fluid.critical_k))


def _filled(
    fluid: Fluid, kelvin: NDArray[np.float64], values: NDArray[np.float64], what: str,
    x: NDArray[np.float64],
) -> NDArray[np.float64]:
    """The values with gaps and outliers replaced by the polynomial in x of their logarithm."""
    good, warm = np.isfinite(values), kelvin > FITTED_ABOVE_K
    while True:
        fit = np.polynomial.Polynomial.fit(x[good & warm], np.log(values[good & warm]), DEGREE)
        off = np.abs(np.log(np.where(good, values, 1.0)) - fit(x)) * (good & warm)
        if off.max() < OUTLYING:
            break
        good[int(off.argmax())] = False
    if (~good).mean() > FILLED_AT_MOST or not good[~warm].all():
        raise TradeError(f"{fluid.coolprop} {what}: CoolProp gives {good.sum()} of {len(good)} "
                         "points, too few to fill the rest: narrow its range")
    if not good.all():
        gaps = ", ".join(f"{t:.0f}" for t in kelvin[~good])
        print(f"{fluid.coolprop} {what}: filled at {gaps} K", file=sys.stderr)
    return np.where(good, values, np.exp(fit(x)))


def _value(fluid: str, kelvin: float, output: str, quality: int) -> float:
    from CoolProp.CoolProp import PropsSI

    try:
        return float(PropsSI(output, "T", kelvin, "Q", quality, fluid))
    except ValueError:
        return float("nan")


def _reason(fluid: str, kelvin: float) -> str:
    """What CoolProp says of a point that it does not compute."""
    from CoolProp.CoolProp import PropsSI

    try:
        PropsSI("P", "T", kelvin, "Q", 0, fluid)
    except ValueError as error:
        return str(error)
    return "no reason given"


if __name__ == "__main__":
    main()
