"""What holds for all tests: the making of the speech model is no part of the installed package,
nothing of theirs lands in the user's data folder, workers share what is made once, and
the programs that they start are the installed ones and can be interrupted, also where the tests run
in the background.
"""

import atexit
import os
import signal
import tempfile
from pathlib import Path

import pytest

import fieldvoice
from support.made_once import RUN

CHECKOUT = Path(__file__).resolve().parent.parent
fieldvoice.__path__.append(str(CHECKOUT / "fieldvoice"))  # fieldvoice.training, from the checkout

_data = tempfile.TemporaryDirectory()  # the register of sealed jobs is the user's, not the tests'
atexit.register(_data.cleanup)
os.environ["XDG_DATA_HOME"] = _data.name

if RUN not in os.environ:  # workers have it from the process that starts them
    _run = tempfile.TemporaryDirectory()
    atexit.register(_run.cleanup)
    os.environ[RUN] = _run.name

# one worker a core: more threads of numpy would only wait for each other
os.environ.setdefault("OPENBLAS_NUM_THREADS", "1")

os.environ["PYTHONSAFEPATH"] = "1"  # the folder they start in, a checkout, lacks what `pip` puts in

if signal.getsignal(signal.SIGINT) is signal.SIG_IGN:  # as with `pytest &`; children inherit it
    signal.signal(signal.SIGINT, signal.default_int_handler)


def pytest_xdist_auto_num_workers() -> int:
    """More workers than cores: many tests wait for sound, a terminal or a process meanwhile."""
    cores = len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count()
    return (cores or 1) * 3 // 2


# these wait most of their time: for sound, a process, a page, a terminal
_WAITING = ("real_sound", "real_process", "real_browser", "real_terminal")


def pytest_collection_modifyitems(items: list[pytest.Item]) -> None:
    """The first worker begins with what waits, while the others keep the cores at work.

    Workers take from the end of each other's lists, so these would else come last, all at once.
    """
    items.sort(key=_turn)  # stable: within a room nothing changes


def _turn(item: pytest.Item) -> int:
    room = item.path.parent.name
    return _WAITING.index(room) if room in _WAITING else len(_WAITING)
