"""What was said beside what was heard, at the least edit distance.

Training uses it where the grammar's libraries are not installed, so it needs none of them.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import TypeVar

T = TypeVar("T")


def align(said: Sequence[T], heard: Sequence[T]) -> list[tuple[T | None, T | None]]:
    """Pair words or phones at the least edit distance; None stands for a missing or added one."""
    cost = [[i + j if i * j == 0 else 0 for j in range(len(heard) + 1)]
            for i in range(len(said) + 1)]  # fmt: skip
    for i, s in enumerate(said, 1):
        for j, h in enumerate(heard, 1):
            cost[i][j] = min(
                cost[i - 1][j - 1] + (s != h), cost[i - 1][j] + 1, cost[i][j - 1] + 1
            )
    pairs: list[tuple[T | None, T | None]] = []
    i, j = len(said), len(heard)
    while i or j:
        if i and j and cost[i][j] == cost[i - 1][j - 1] + (said[i - 1] != heard[j - 1]):
            i, j = i - 1, j - 1
            pairs.append((said[i], heard[j]))
        elif i and cost[i][j] == cost[i - 1][j] + 1:
            i -= 1
            pairs.append((said[i], None))
        else:
            j -= 1
            pairs.append((None, heard[j]))
    return pairs[::-1]


def edits(said: Sequence[T], heard: Sequence[T]) -> int:
    """Words or phones missing, added or exchanged."""
    return sum(s != h for s, h in align(said, heard))
