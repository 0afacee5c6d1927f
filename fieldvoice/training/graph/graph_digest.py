"""A fingerprint of what a decoding graph is made from, so that an old graph is noticed.

Needs none of the training libraries: the tests compare it in every run.
"""

from __future__ import annotations

import hashlib
from importlib.resources import files

from fieldvoice.language.decoding_graph import Acceptor

NAME = "made-from.sha256"  # beside the graph


def digest(acceptor: Acceptor) -> str:
    """SHA-256 of the acceptor, its costs to a thousandth, and of our own pronunciations."""
    found = hashlib.sha256()
    for source, word, cost, target in sorted(acceptor.arcs):
        found.update(f"{source} {word} {cost:.3f} {target}\n".encode())
    for state, cost in sorted(acceptor.finals.items()):
        found.update(f"{state} {cost:.3f}\n".encode())
    found.update((files("fieldvoice.grammar") / "pronunciations.txt").read_bytes())
    return found.hexdigest()
