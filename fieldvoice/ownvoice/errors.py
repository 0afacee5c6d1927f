"""What can be wrong with a speaker's voice or with the model it is fitted to."""

from __future__ import annotations

from fieldvoice.errors import FieldvoiceError


class VoiceError(FieldvoiceError):
    """The voice cannot be learned, kept or used; the message says what, where and what to do."""
