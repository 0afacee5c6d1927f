"""What holds for all tests: the making of the speech model is no part of the installed package."""

from pathlib import Path

import fieldvoice

CHECKOUT = Path(__file__).resolve().parent.parent
fieldvoice.__path__.append(str(CHECKOUT / "fieldvoice"))  # fieldvoice.training, from the checkout
