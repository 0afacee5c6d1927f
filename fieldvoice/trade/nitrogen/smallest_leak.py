"""The smallest leak that a hold under nitrogen could show, as gas flow and as mass a year."""

from __future__ import annotations

from dataclasses import asdict, dataclass
from typing import Any

from fieldvoice.trade.errors import require_between, require_positive
from fieldvoice.trade.refrigerant.refrigerants import refrigerant
from fieldvoice.trade.vacuum.leak_rate import SECONDS_A_YEAR, leak_rate

NITROGEN_KG_PER_MOL = 0.028_013_4  # IUPAC standard atomic weight, twice 14.0067
ASSUMPTION = "as many moles of refrigerant vapour a second as of nitrogen at test pressure"


@dataclass(frozen=True)
class SmallestLeak:
    """A loss of pressure in a known volume: gas flow, and kilograms a year that escape."""

    pa_m3_per_s: float
    mol_per_s: float
    nitrogen_kg_per_year: float
    refrigerant: str | None
    refrigerant_kg_per_year: float | None
    assumption: str = ASSUMPTION
    source: str = "40 CFR 1065.644: n = V (p2/T2 - p1/T1) / (R dt)"

    def to_dict(self) -> dict[str, Any]:
        """Plain values, for JSON."""
        return asdict(self)


def smallest_leak(
    loss_pa: float, seconds: float, volume_m3: float, pressure_pa: float, kelvin: float,
    name: str | None = None,
) -> SmallestLeak:
    """The leak behind a loss of `loss_pa` in `seconds`, at test pressure (absolute) and K.

    `name` is the refrigerant that will take the nitrogen's place. Raises TradeError for a loss of
    nothing or of more than there is, and for an unknown refrigerant.
    """
    require_positive("loss of pressure", loss_pa, "Pa")
    require_between("loss of pressure", loss_pa, 0.0, pressure_pa, "Pa")
    flow = leak_rate(volume_m3, pressure_pa, pressure_pa - loss_pa, seconds, kelvin, kelvin)
    mol = -flow.mol_per_s  # out of the system
    a_year = mol * SECONDS_A_YEAR
    known = None if name is None else refrigerant(name)
    return SmallestLeak(-flow.pa_m3_per_s, mol, a_year * NITROGEN_KG_PER_MOL,
                        None if known is None else known.name,
                        None if known is None else a_year * known.molar_kg)
