"""Finding the procedure that an argument names: a file, or one that comes with the package."""

from __future__ import annotations

from pathlib import Path

from fieldvoice.job.procedure import Procedure, ProcedureError
from fieldvoice.job.procedure_check import load
from fieldvoice.job.procedure_text import shipped, shipped_names

from .errors import CommandError


def find_text(name_or_path: str) -> tuple[str, str]:
    """The text of a procedure and what to call it in messages. Raises CommandError."""
    path = Path(name_or_path)
    if path.is_file():
        try:
            return path.read_text(encoding="utf-8"), str(path)
        except (OSError, UnicodeDecodeError) as error:
            raise CommandError(f"cannot read {path}: {error}; give a UTF-8 text file") from None
    try:
        return shipped(name_or_path), name_or_path
    except FileNotFoundError:
        known = ", ".join(shipped_names()) or "none"
        raise CommandError(
            f"no procedure {name_or_path!r}: no file of that name, and not one that comes with "
            f"Fieldvoice ({known})"
        ) from None


def load_named(text: str, where: str) -> Procedure:
    """Read a procedure; a fault names `where`, line and column. Raises CommandError."""
    try:
        return load(text)
    except ProcedureError as error:
        raise CommandError(f"{where}: {error}") from None
