"""Which speech model to hear with, and what it needs to be told."""

from __future__ import annotations

import argparse
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from fieldvoice.devices.recognizer import Recognizer
    from fieldvoice.language.line_end import WaitsFor


def add_model_option(parser: argparse.ArgumentParser) -> None:
    """Add --model."""
    parser.add_argument(
        "--model", type=Path, metavar="DIR",
        help="a speech model folder in Vosk's layout; default: the one that Fieldvoice brings",
    )  # fmt: skip


def check_own_or(model_dir: Path | None) -> None:
    """Refuse a folder that is no speech model, before it is loaded. Raises ModelError."""
    from fieldvoice.devices.vosk_recognizer import OWN_MODEL, check_model
    from fieldvoice.secondear.network_file import FILE, check

    folder = model_dir or OWN_MODEL
    check_model(folder)
    if (folder / FILE).is_file():
        check(folder / FILE)


def load_recognizer(model_dir: Path | None) -> Recognizer:
    """The recognizer for the grammar. Raises recognizer.ModelError."""
    from fieldvoice.devices.vosk_recognizer import OWN_MODEL, check_model
    from fieldvoice.secondear.two_ears import with_second_ear

    folder = model_dir or OWN_MODEL
    check_model(folder)
    return with_second_ear(_load(folder), folder)


def _load(folder: Path) -> Recognizer:
    from fieldvoice.devices.vosk_recognizer import VoskRecognizer, is_own

    if is_own(folder):  # its decoding graph is the grammar already
        return VoskRecognizer(folder)
    from fieldvoice.language.decoding_graph import phrases

    return VoskRecognizer(folder, phrases())


def load_ear(model_dir: Path | None, waits_for: WaitsFor) -> Recognizer:
    """The same for talk as it comes: it knows the end of a line early, and the sooner if that is
    what the job waits for. Raises ModelError.
    """
    from fieldvoice.devices.dozing import Dozing
    from fieldvoice.devices.early_end import EarlyEnd
    from fieldvoice.devices.vosk_recognizer import OWN_MODEL, check_model
    from fieldvoice.language.line_end import SHORTEST_S, line_end, one_line
    from fieldvoice.secondear.two_ears import with_second_ear

    folder = model_dir or OWN_MODEL
    check_model(folder)
    ear = EarlyEnd(
        Dozing(_load(folder)), partial(line_end, waits_for=waits_for),
        partial(one_line, waits_for=waits_for), SHORTEST_S,
    )  # fmt: skip
    return with_second_ear(ear, folder)
