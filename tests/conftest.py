"""What holds for all tests: the making of the speech model is no part of the installed package, and
the programs that they start can be interrupted, also where the tests run in the background.
"""

import signal
from pathlib import Path

import fieldvoice

CHECKOUT = Path(__file__).resolve().parent.parent
fieldvoice.__path__.append(str(CHECKOUT / "fieldvoice"))  # fieldvoice.training, from the checkout

if signal.getsignal(signal.SIGINT) is signal.SIG_IGN:  # as with `pytest &`; children inherit it
    signal.signal(signal.SIGINT, signal.default_int_handler)
