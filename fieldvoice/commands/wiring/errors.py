"""How a command fails."""

from __future__ import annotations

from fieldvoice.errors import FieldvoiceError

OK, FAILED, BAD_INPUT, INTERRUPTED = 0, 1, 2, 130  # exit codes


class CommandError(FieldvoiceError):
    """The command cannot do what was asked; the message says what, where and what to do."""
