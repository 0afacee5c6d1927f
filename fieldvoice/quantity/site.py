"""The place a job is done at, as far as readings depend on it."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

from fieldvoice.errors import FieldvoiceError

STANDARD_ATMOSPHERE_PA = 101_325.0  # exact; NIST SP 811 B.8

# International standard atmosphere up to 11 km: ISO 2533, U.S. Standard Atmosphere 1976.
_SEA_LEVEL_K = 288.15
_LAPSE_K_PER_M = 0.0065
_EXPONENT = 9.806_65 / (287.052_87 * _LAPSE_K_PER_M)  # g / (R L)
_LOWEST_M, _HIGHEST_M = -610.0, 11_000.0


class ReadingError(FieldvoiceError, ValueError):
    """A value, unit or place that cannot be; the message says what, where and what to do."""


@dataclass(frozen=True)
class Site:
    """What the place and the technician's habits do to a reading."""

    atmosphere_pa: float = STANDARD_ATMOSPHERE_PA  # pressure that gauges read from, absolute Pa
    temperature_unit: str = "degF"  # what "degrees" means: "degF" or "degC"
    default_units: Mapping[str, str] = field(default_factory=dict)  # quantity -> unit, when unsaid

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


def atmosphere_at(altitude_m: float) -> float:
    """Standard atmospheric pressure, absolute Pa, at a height above sea level in metres.

    Source: ISO 2533 and U.S. Standard Atmosphere 1976, lowest layer. Weather moves the true value
    by some 3 %; a barometer at the site is better. Raises ReadingError outside -610 to 11,000 m.
    """
    if not _LOWEST_M <= altitude_m <= _HIGHEST_M:
        raise ReadingError(
            f"altitude of {altitude_m:g} m: give one between {_LOWEST_M:g} and {_HIGHEST_M:g} m"
        )
    warmth = 1.0 - _LAPSE_K_PER_M * altitude_m / _SEA_LEVEL_K
    return STANDARD_ATMOSPHERE_PA * float(warmth**_EXPONENT)


STANDARD = Site()
