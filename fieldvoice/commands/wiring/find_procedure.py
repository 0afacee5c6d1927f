"""Finding the procedure that an argument names: a file, or one that comes with the package."""

from __future__ import annotations

import errno
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from fieldvoice.commands.wiring.errors import CommandError
from fieldvoice.language.intents import Choose, No, Yes
from fieldvoice.language.parser import understand
from fieldvoice.procedure.check import check
from fieldvoice.procedure.model import Procedure
from fieldvoice.procedure.reader import parse, shipped, shipped_names
from fieldvoice.procedure.settings import ProcedureError

_WHAT_TO_DO = {
    errno.EACCES: "change its permissions, or name another",
    errno.EMFILE: "try again, and if it stays so start Fieldvoice anew",
    errno.ENFILE: "close other programs and try again",
    errno.ENAMETOOLONG: "name another",
}
_LONGEST_TOLD = 200  # letters of a name


def find_text(name_or_path: str) -> tuple[str, str]:
    """The text of a procedure and what to call it in messages. Raises CommandError."""
    path = Path(name_or_path)
    with _reading(name_or_path):
        if path.is_file():
            return _seen(path.read_text(encoding="utf-8-sig"), path), str(path)
        try:
            return shipped(name_or_path), name_or_path
        except FileNotFoundError:
            known = ", ".join(shipped_names()) or "none"
            raise CommandError(
                f"no procedure {name_or_path!r}: no file of that name, and not one that comes with "
                f"Fieldvoice ({known})"
            ) from None


@contextmanager
def _reading(name: str) -> Iterator[None]:
    """Raise CommandError where a file cannot be read: which, why and what to do.

    A line can name a procedure while work goes on, whatever the disk does then.
    """
    try:
        yield
    except UnicodeDecodeError as error:
        raise CommandError(f"cannot read {name}: {error}; give a UTF-8 text file") from None
    except OSError as error:
        to_do = _WHAT_TO_DO.get(error.errno or 0, "bring it back from a copy, or name another")
        raise CommandError(
            f"cannot read {_short(str(error.filename or name))}: {error.strerror}; {to_do}"
        ) from None


def _short(name: str) -> str:
    return name if len(name) <= _LONGEST_TOLD else f"{name[:_LONGEST_TOLD]}..."


def _seen(text: str, path: Path) -> str:
    """The text, where all of it can be seen: what steers a terminal has no place in a procedure."""
    for number, line in enumerate(text.split("\n"), start=1):
        for column, character in enumerate(line, start=1):
            if not (character.isprintable() or character.isspace()):
                raise CommandError(
                    f"{path}, line {number}, column {column}: a character that cannot be seen "
                    f"(U+{ord(character):04X}); take it out")
    return text


def faults(text: str) -> tuple[Procedure | None, list[ProcedureError]]:
    """The procedure, None where its form is broken; and its faults in the order of the text.

    Raises CommandError where a file that it includes cannot be read.
    """
    try:
        with _reading("what it includes"):
            procedure = parse(text)
    except ProcedureError as error:
        return None, [error]
    found = [*check(procedure), *_unsayable(procedure)]
    return procedure, sorted(found, key=lambda f: (f.place.file, f.line, f.column))


def load_named(text: str, where: str) -> Procedure:
    """Read a procedure; a fault names `where`, line and column. Raises CommandError."""
    procedure, found = faults(text)
    if procedure is None or found:
        raise CommandError(f"{where}: {found[0]}")
    return procedure


def load_kept(text: str, sha256: str | None, where: str) -> Procedure:
    """The procedure kept with a job. Raises CommandError.

    One that is as it was at the job's start (`sha256`; None: it is compared elsewhere) was checked
    then: a later Fieldvoice that is stricter goes on with it.
    """
    try:
        procedure = parse(text)
    except ProcedureError as error:
        raise CommandError(f"{where}: {error}") from None
    return procedure if sha256 in (None, procedure.sha256) else load_named(text, where)


def _unsayable(procedure: Procedure) -> Iterator[ProcedureError]:
    """Options that no line can choose."""
    for step in procedure.steps:
        for way in step.choices + step.exits:
            meant = understand(way.name.replace("-", " "))
            if meant != Choose(way.name) and not isinstance(meant, Yes | No):
                yield ProcedureError(
                    way.place, f"nobody can say {way.name} to choose it",
                    "use yes, no or an option that grammar/options.lark lists")
