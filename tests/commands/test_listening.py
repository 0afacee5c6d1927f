"""What arrives at a job at work: typed lines, until they end."""

import queue
from collections.abc import Iterator

import pytest

from fieldvoice.commands.wiring.hearing.watch import Watch
from fieldvoice.commands.wiring.listening import Arrivals, Ended, Line, type_into


def test_typed_lines_arrive_without_blank_ones_and_then_end() -> None:
    arrivals: Arrivals = queue.Queue()

    def lines() -> Iterator[str]:
        yield from ("next\n", "\n", "  412 microns \n")

    type_into(arrivals, lines(), Watch(lambda trouble: pytest.fail(trouble.why)))
    assert [arrivals.get(timeout=5) for _ in range(3)] == [
        Line("next", "typed"), Line("412 microns", "typed"), Ended("typed"),
    ]  # fmt: skip
