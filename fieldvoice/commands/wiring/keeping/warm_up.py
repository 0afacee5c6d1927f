"""What the first line needs is made ready beside the opening of the job: else that line would hold
up every timer for as long."""

from __future__ import annotations

import threading

from fieldvoice.devices.cache import keep_cached, read_cached
from fieldvoice.language import grammar
from fieldvoice.language.parser import understand
from fieldvoice.quantity.convert import prepare

_KIND = "grammar"


def warm_up() -> None:
    """Take the grammar that was compiled at an earlier start, or compile it in a thread."""
    key = grammar.fingerprint()
    kept = lend(key)
    threading.Thread(target=_first_line, args=(key, kept), name="warm-up", daemon=True).start()


def prepare_units() -> None:
    """Load the unit library in a thread: later than the ears, since nobody reads a value before."""
    threading.Thread(target=prepare, name="units", daemon=True).start()


def take_kept() -> None:
    """Take the grammar that was compiled at an earlier start, or compile and keep it now."""
    key = grammar.fingerprint()
    _keep(key, lend(key))


def lend(key: str) -> bool:
    """Use the grammar kept under the key; whether there is one."""
    text = read_cached(_KIND, key)
    try:
        grammar.give(grammar.Grammar.from_text(text or ""))
    except ValueError:
        return False
    return True


def _first_line(key: str, kept: bool) -> None:
    _keep(key, kept)
    understand("next")


def _keep(key: str, kept: bool) -> None:
    if not kept:
        keep_cached(_KIND, key, grammar.grammar().to_text())
