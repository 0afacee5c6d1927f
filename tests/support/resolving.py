"""Readings resolved in one line, for the tests."""

from __future__ import annotations

from decimal import Decimal

from fieldvoice.quantity.resolve_reading import Resolved, resolve
from fieldvoice.quantity.resolve_unit import Refused
from fieldvoice.quantity.site import STANDARD, Site


def read(
    value: str, unit: str | None = None, quantity: str | None = None,
    expected: str | None = None, site: Site = STANDARD,
) -> Resolved:
    """A reading that must be clear."""
    found = resolve(Decimal(value), unit, quantity, expected=expected, site=site)
    assert isinstance(found, Resolved), found
    return found


def refuse(
    value: str, unit: str | None = None, quantity: str | None = None,
    expected: str | None = None, site: Site = STANDARD,
) -> Refused:
    """A reading that must be refused."""
    found = resolve(Decimal(value), unit, quantity, expected=expected, site=site)
    assert isinstance(found, Refused), found
    return found
