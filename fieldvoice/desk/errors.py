"""How something asked of the review pages fails; every message says what to do."""

from __future__ import annotations

from fieldvoice.errors import FieldvoiceError


class DeskError(FieldvoiceError):
    """The pages cannot be served, or a job cannot be shown."""


class NoSuchJob(DeskError):
    """There is no such job here, or its name is none."""


class NotDone(DeskError):
    """What a form asked for is not done; what was typed stays in it."""
