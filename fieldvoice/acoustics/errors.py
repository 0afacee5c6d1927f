"""What can be wrong with the files of a speech model."""

from __future__ import annotations

from fieldvoice.errors import FieldvoiceError


class LayoutError(FieldvoiceError):
    """The model is none of Fieldvoice's own; the message says what of it, and what to do."""
