"""The screen on a terminal: drawn in a thread of its own, which owns the keyboard, too."""

from __future__ import annotations

import os
import signal
import sys
import threading
from collections.abc import Callable
from dataclasses import dataclass
from typing import TextIO

from prompt_toolkit.application import Application, get_app
from prompt_toolkit.buffer import Buffer
from prompt_toolkit.formatted_text import StyleAndTextTuples
from prompt_toolkit.history import InMemoryHistory
from prompt_toolkit.input import Input, create_input
from prompt_toolkit.layout import HSplit, Layout, Window
from prompt_toolkit.layout.controls import BufferControl, UIContent, UIControl
from prompt_toolkit.layout.processors import (
    BeforeInput,
    Processor,
    Transformation,
    TransformationInput,
)
from prompt_toolkit.output import ColorDepth, Output
from prompt_toolkit.output.vt100 import Vt100_Output
from prompt_toolkit.styles import Style

from fieldvoice.devices.screen import keys
from fieldvoice.devices.screen.board import Board
from fieldvoice.devices.screen.layout import layout, most_pages
from fieldvoice.devices.screen.printable import printable

_LEAVING_S = 3.0  # a terminal that does not take its last lines is not waited for longer
_SHELL_S = 0.2  # what a shell needs to hand over a terminal
_STYLE = Style.from_dict({
    "prompt": "bold", "caution": "bold ansiyellow", "alert": "bold ansired",
    "question": "bold ansicyan", "banner": "reverse bold", "bar": "reverse", "notice": "ansiyellow",
    "waits": "bold", "figure": "bold", "limit": "ansired", "fit": "ansicyan",
    "became-accepted": "ansigreen", "became-asked-back": "bold ansicyan",
    "became-ignored": "ansiyellow", "became-refused": "ansiyellow",
})  # fmt: skip


@dataclass(frozen=True)
class Hands:
    """What becomes of the keys that are pressed; each is called from the screen's thread."""

    typed: Callable[[str], None]  # a line
    deed: Callable[[str], None]  # "hush", "next", "again" or "talk"
    ended: Callable[[], None]  # no more lines are typed
    failed: Callable[[str], None]  # the screen cannot go on


class LiveScreen:
    """Draws the board, when told that it changed, until it is closed."""

    def __init__(
        self, board: Board, hands: Hands, stdin: TextIO, stdout: TextIO, *, colour: bool = True
    ) -> None:
        self._hands, self._board = hands, board
        depth = None if colour else ColorDepth.DEPTH_1_BIT
        self._app = _app(board, hands, create_input(stdin), _output(stdout), depth)
        self._leaving = False
        self._drawn = threading.Event()
        self._app.after_render += lambda _: self._drawn.set()
        self._thread = threading.Thread(target=self._run, name="screen", daemon=True)

    def start(self) -> None:
        """Draw from now on."""
        if threading.current_thread() is threading.main_thread():
            self._heed_signals()
        self._thread.start()

    def _heed_signals(self) -> None:
        """After a stop the terminal is taken again; a program that is ended gives it back."""
        if hasattr(signal, "SIGCONT"):
            signal.signal(signal.SIGCONT, lambda *_: self._come_back())
        for name in ("SIGTERM", "SIGHUP"):
            if hasattr(signal, name):
                signal.signal(getattr(signal, name), lambda number, _: sys.exit(128 + number))

    def changed(self) -> None:
        """The board shows something else; may be called from any thread."""
        self._app.invalidate()

    def close(self) -> None:
        """Leave the terminal as it was."""
        self._leaving = True
        if self._thread.is_alive():
            self._drawn.wait(_LEAVING_S)  # before its first drawing it cannot be ended
            self._in_loop(lambda: self._app.exit() if self._app.is_running else None)
            self._thread.join(_LEAVING_S)

    def _run(self) -> None:
        try:
            self._app.run(handle_sigint=False, set_exception_handler=False)
        except Exception as error:  # whatever it is, the job goes on without the screen
            if not self._leaving:
                self._hands.failed(f"{type(error).__name__}: {error}")

    def _come_back(self) -> None:
        """After a stop the shell sets the terminal as it likes: take it again, a little later."""
        self._in_loop(lambda: self._app.loop and self._app.loop.call_later(
            _SHELL_S, self._take_terminal))

    def _take_terminal(self) -> None:
        if self._app.is_running:
            self._app.input.raw_mode().__enter__()  # what was before is kept from the first time
            self._app.renderer.clear()
            self._app.invalidate()

    def _in_loop(self, deed: Callable[[], object]) -> None:
        loop = self._app.loop
        if loop is not None and not loop.is_closed():
            loop.call_soon_threadsafe(deed)


class _Drawn(UIControl):
    """The lines of the layout, for the size that the window has."""

    def __init__(self, board: Board) -> None:
        self._board = board

    def create_content(self, width: int, height: int) -> UIContent:
        """The board at this size; what cannot be drawn ends the screen, not the job."""
        rows: list[StyleAndTextTuples] = []
        try:
            rows = [[(f"class:{tone}" if tone else "", printable(text)) for text, tone in row]
                    for row in layout(self._board.moment, width, height)]
        except Exception as error:
            app = get_app()
            if app.is_running and not app.is_done:
                app.exit(exception=error)
        return UIContent(lambda line: rows[line], line_count=len(rows), show_cursor=False)


class _Printable(Processor):
    """What was pasted into the typed line cannot steer the terminal either."""

    def apply_transformation(self, transformation_input: TransformationInput) -> Transformation:
        """As many characters as before."""
        return Transformation([(part[0], printable(part[1]))
                               for part in transformation_input.fragments])


def _app(
    board: Board, hands: Hands, keyboard: Input, out: Output, depth: ColorDepth | None
) -> Application[None]:
    line = Buffer(history=InMemoryHistory(), multiline=False,
                  accept_handler=lambda buffer: _accept(buffer, hands))
    control = BufferControl(line, input_processors=[_Printable(), BeforeInput("> ")])
    typed = Window(control, height=1, wrap_lines=False)

    def pages() -> int:
        size = out.get_size()
        return most_pages(board.moment, size.columns, size.rows - 1)

    bound = keys.bound(board, line, hands.deed, hands.ended, pages)
    return Application(
        layout=Layout(HSplit([Window(_Drawn(board), wrap_lines=False), typed]), typed),
        key_bindings=bound, style=_STYLE, full_screen=True, input=keyboard, output=out,
        color_depth=depth, mouse_support=False,
    )  # fmt: skip


def _accept(buffer: Buffer, hands: Hands) -> bool:
    """Each line of what was typed or pasted; the typed line is empty afterwards."""
    for line in buffer.text.splitlines():
        if line.strip():
            hands.typed(line.strip())
    return False


def _output(stdout: TextIO) -> Output:
    return Vt100_Output.from_pty(stdout, term=os.environ.get("TERM"))
