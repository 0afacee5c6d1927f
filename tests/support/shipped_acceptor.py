"""All that can be heard: the acceptor of the shipped grammar, compiled once for all tests."""

from __future__ import annotations

from functools import cache

from fieldvoice.language.decoding_graph import Acceptor, compile_acceptor
from support.made_once import made_once


@cache
def shipped_acceptor() -> Acceptor:
    """It; not to be changed."""
    return made_once("acceptor", compile_acceptor)
