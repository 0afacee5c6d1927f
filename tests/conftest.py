"""What holds for all tests: the making of the speech model is no part of the installed package, and
the programs that they start can be interrupted, also where the tests run in the background.
"""

import os
import signal
from pathlib import Path

import fieldvoice

CHECKOUT = Path(__file__).resolve().parent.parent
fieldvoice.__path__.append(str(CHECKOUT / "fieldvoice"))  # fieldvoice.training, from the checkout

if signal.getsignal(signal.SIGINT) is signal.SIG_IGN:  # as with `pytest &`; children inherit it
    signal.signal(signal.SIGINT, signal.default_int_handler)


def pytest_xdist_auto_num_workers() -> int:
    """More workers than cores: many tests wait for sound, a terminal or a process meanwhile."""
    cores = len(os.sched_getaffinity(0)) if hasattr(os, "sched_getaffinity") else os.cpu_count()
    return (cores or 1) * 3 // 2
