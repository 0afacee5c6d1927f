"""What keeps a reply from being said."""

from __future__ import annotations

from fieldvoice.errors import FieldvoiceError


class VoiceError(FieldvoiceError):
    """A voice cannot say a text; the message says which and why."""


class LoudspeakerError(FieldvoiceError):
    """Nothing can sound; the message says why and what happens instead."""
