"""Conversion constants of the arithmetic (NIST SP 811, Appendix B.8) and small converters."""

from __future__ import annotations

PA_PER_ATM = 101_325.0  # exact, SP 811 B.8
PA_PER_MM_HG = 13_595.1 * 9.806_65 * 1e-3  # conventional mercury; SP 811 prints 1.333 224 E+02
PA_PER_MICRON = PA_PER_MM_HG * 1e-3  # micron of mercury
PA_PER_IN_HG = PA_PER_MM_HG * 25.4  # conventional; SP 811 prints 3.386 389 E+03
PA_PER_PSI = 4.448_221_615_260_5 / 0.0254**2  # lbf / in2; SP 811 prints 6.894 757 E+03
PA_PER_BAR = 1.0e5
KELVIN_AT_0_C = 273.15
M_PER_INCH = 0.0254
M_PER_FOOT = 0.3048
KG_PER_OZ = 0.028_349_523_125  # avoirdupois, exact; SP 811 prints 2.834 952 E-02
KG_PER_LB = 0.453_592_37
M3_PER_S_PER_CFM = M_PER_FOOT**3 / 60.0  # SP 811 prints 4.719 474 E-04


def microns(pressure_pa: float) -> float:
    """Absolute pressure in microns of mercury."""
    return pressure_pa / PA_PER_MICRON


def from_microns(pressure_microns: float) -> float:
    """Absolute pressure in Pa from microns of mercury."""
    return pressure_microns * PA_PER_MICRON


def psig(pressure_pa: float, atmosphere_pa: float = PA_PER_ATM) -> float:
    """Gauge pressure in psi above the given atmosphere."""
    return (pressure_pa - atmosphere_pa) / PA_PER_PSI


def from_psig(gauge_psi: float, atmosphere_pa: float = PA_PER_ATM) -> float:
    """Absolute pressure in Pa from a gauge reading in psi and the atmosphere it was read in."""
    return gauge_psi * PA_PER_PSI + atmosphere_pa


def f_to_k(temperature_f: float) -> float:
    """Kelvin from degrees Fahrenheit."""
    return (temperature_f - 32.0) / 1.8 + KELVIN_AT_0_C


def k_to_f(temperature_k: float) -> float:
    """Degrees Fahrenheit from kelvin."""
    return (temperature_k - KELVIN_AT_0_C) * 1.8 + 32.0


def c_to_f(temperature_c: float) -> float:
    """Degrees Fahrenheit from degrees Celsius."""
    return temperature_c * 1.8 + 32.0


def f_to_c(temperature_f: float) -> float:
    """Degrees Celsius from degrees Fahrenheit."""
    return (temperature_f - 32.0) / 1.8
