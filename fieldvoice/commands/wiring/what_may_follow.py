"""The answer to a shell that completes a line: commands, options, names of jobs, files."""

from __future__ import annotations

import argparse
import os
from collections.abc import Iterable

from argcomplete import autocomplete
from argcomplete.completers import BaseCompleter, FilesCompleter


def line_so_far() -> list[str]:
    """The words after the program's name, as the shell tells them."""
    return os.environ["COMP_LINE"].split()[1:]


def answer(parser: argparse.ArgumentParser) -> None:
    """Tell the shell what may stand where its cursor is, and leave."""
    autocomplete(parser, always_complete_options="long", default_completer=_Values())


class _Values(BaseCompleter):
    """What may stand for an argument: the names of its sort, else files."""

    def __call__(
        self, *, prefix: str, action: argparse.Action, parser: argparse.ArgumentParser,
        parsed_args: argparse.Namespace,
    ) -> Iterable[str]:
        names = [name for name in _names(action.dest) if name.startswith(prefix)]
        return names or FilesCompleter()(prefix)


def _names(argument: str) -> list[str]:
    if argument == "job":
        from fieldvoice.devices.joblog import list_jobs

        return [folder.name for folder in list_jobs()]
    if argument in ("voice_of", "forget"):
        from fieldvoice.commands.wiring.voices.kept import all_places

        return [place.name for place in all_places()]
    if argument == "procedure":
        from fieldvoice.procedure.reader import shipped_names

        return shipped_names()
    return []
