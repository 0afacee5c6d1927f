"""The one error of this room."""

from __future__ import annotations

from fieldvoice.errors import FieldvoiceError


class ReadingError(FieldvoiceError, ValueError):
    """A value, unit or place that cannot be; the message says what, where and what to do."""
