"""The place a job is done at, as far as readings depend on it, and the facts that tell of it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass

from fieldvoice.quantity.amount import read_amount
from fieldvoice.quantity.constants import PA_PER_ATM
from fieldvoice.quantity.convert import to_si
from fieldvoice.quantity.errors import ReadingError

ATMOSPHERE_SOURCE = "US Standard Atmosphere 1976, as in ASHRAE Fundamentals 2017 ch. 1 eqn. 3"
_LOWEST_M, _HIGHEST_M = -610.0, 11_000.0  # the lowest layer, down to 2,000 ft below the sea


@dataclass(frozen=True)
class Site:
    """What the place and the technician's habits do to a reading."""

    atmosphere_pa: float = PA_PER_ATM  # pressure that gauges read from, absolute Pa
    temperature_unit: str = "degF"  # what "degrees" means: "degF" or "degC"

    def __post_init__(self) -> None:
        if not 15_000.0 <= self.atmosphere_pa <= 110_000.0:
            raise ReadingError(
                f"atmospheric pressure of {self.atmosphere_pa:g} Pa at the site: "
                "give the station pressure, between 15,000 and 110,000 Pa (4.4 and 32.5 inHg)"
            )
        if self.temperature_unit not in ("degF", "degC"):
            raise ReadingError(
                f"temperature unit {self.temperature_unit!r} of the site: give degF or degC"
            )


STANDARD = Site()


def site_from(told: Mapping[str, str]) -> Site:
    """The site from plain text, as JobStarted.site keeps it; other keys are left alone.

    "atmosphere": "29.92 inHg" or "altitude": "5280 ft" (standard atmosphere); "temperature-unit":
    "degF" or "degC". Raises ReadingError naming the entry that cannot be read.
    """
    return Site(_atmosphere_pa(told), told.get("temperature-unit", STANDARD.temperature_unit))


def _atmosphere_pa(told: Mapping[str, str]) -> float:
    if "atmosphere" in told:
        text = told["atmosphere"]
        found = read_amount("site, atmosphere", text, "pressure")
        if found.unit.zero != "true":
            raise ReadingError(f"site, atmosphere is {text!r}: a barometer shows an absolute "
                               "pressure; write it as '29.92 inHg'")
        return to_si(found.value, found.unit)
    if "altitude" in told:
        found = read_amount("site, altitude", told["altitude"], "length")
        return atmosphere_at(to_si(found.value, found.unit))
    return STANDARD.atmosphere_pa


def atmosphere_at(altitude_m: float) -> float:
    """Standard atmospheric pressure, absolute Pa, at a height above sea level in metres.

    Source: ATMOSPHERE_SOURCE, within 0.2 Pa of ISO 2533 and the U.S. Standard Atmosphere over this
    range. Weather moves the true value by some 3 %; a barometer at the site is better. Raises
    ReadingError outside -610 to 11,000 m.
    """
    if not _LOWEST_M <= altitude_m <= _HIGHEST_M:
        raise ReadingError(
            f"altitude is {altitude_m:g} m: permitted range is {_LOWEST_M:g} to {_HIGHEST_M:g} m "
            "(-2,001 to 36,089 ft)"
        )
    import psychrolib  # type: ignore[import-untyped]  # only who tells an altitude waits for it

    psychrolib.SetUnitSystem(psychrolib.SI)
    return float(psychrolib.GetStandardAtmPressure(altitude_m))
