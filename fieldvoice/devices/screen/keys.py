"""What the keys do beside typing; none of them is a character of a line."""

from __future__ import annotations

import os
import signal
import threading
from collections.abc import Callable

from prompt_toolkit.buffer import Buffer
from prompt_toolkit.key_binding import KeyBindings, KeyPressEvent

from fieldvoice.devices.screen.board import Board

_DEEDS = {"f2": "hush", "f3": "next", "f4": "again", "f5": "talk"}
_LETTERS = {"h": "hush", "n": "next", "a": "again", "t": "talk"}  # with Alt, or after Esc


def bound(
    board: Board, line: Buffer, deed: Callable[[str], None], ended: Callable[[], None],
    most_pages: Callable[[], int],
) -> KeyBindings:
    """The keys: deeds, pages of the talk, completion, and the ways out."""
    found = KeyBindings()
    for key, name in _DEEDS.items():
        found.add(key)(lambda event, name=name: deed(name))
    for letter, name in _LETTERS.items():
        found.add("escape", letter)(lambda event, name=name: deed(name))
    found.add("pageup")(lambda event: board.turn(min(board.moment.back + 1, most_pages())))
    found.add("pagedown")(lambda event: board.turn(board.moment.back - 1))
    found.add("tab")(lambda event: complete(line, board.moment.view.can_say))
    _add_ways_out(found, line, ended)
    return found


def _add_ways_out(found: KeyBindings, line: Buffer, ended: Callable[[], None]) -> None:
    @found.add("c-c")
    def _interrupt(event: KeyPressEvent) -> None:
        main = threading.main_thread().ident
        assert main is not None
        signal.pthread_kill(main, signal.SIGINT)

    @found.add("c-d")
    def _end(event: KeyPressEvent) -> None:
        if line.text:
            line.delete()
        else:
            ended()

    @found.add("c-z")
    def _stop(event: KeyPressEvent) -> None:
        if hasattr(signal, "SIGTSTP") and os.isatty(event.app.input.fileno()):
            event.app.suspend_to_background()

    @found.add("c-l")
    def _anew(event: KeyPressEvent) -> None:
        event.app.renderer.clear()


def complete(line: Buffer, known: tuple[str, ...]) -> None:
    """What is typed so far becomes the lines that begin so, as far as they agree."""
    begun = line.text.lower()
    fits = [text for text in known if text.startswith(begun)]
    if fits:
        lowest, highest = min(fits), max(fits)
        pairs = enumerate(zip(lowest, highest, strict=False))
        differ = next((place for place, (a, b) in pairs if a != b), len(lowest))
        line.text = lowest[:differ]
        line.cursor_position = len(line.text)
