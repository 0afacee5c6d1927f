"""Word acceptors without loops: from branching paths to the smallest deterministic one, weighed.

Nothing here knows of grammars: a network has states 0, 1, 2, ..., one start, one end, and arcs that
carry a word (or None for a silent step) and the chance that it is taken from its state.
"""

from __future__ import annotations

import math
from collections import defaultdict
from dataclasses import dataclass, field

START, END = 0, 1  # states of every network
Arc = tuple[str | None, float, int]  # word, chance, next state
Shape = tuple[
    dict[str, int], bool
]  # a deterministic state: next state by word, and whether it may end


@dataclass
class Network:
    """A branching network: arcs[state] lists what can follow."""

    arcs: list[list[Arc]] = field(default_factory=lambda: [[], []])

    def new(self) -> int:
        """A fresh state."""
        self.arcs.append([])
        return len(self.arcs) - 1

    def link(self, source: int, word: str | None, chance: float, target: int) -> None:
        """Add an arc."""
        self.arcs[source].append((word, chance, target))

    def order(self) -> list[int]:
        """All states reachable from the start, each before those that follow it."""
        found: list[int] = []
        seen = {START}
        stack = [(START, iter(self.arcs[START]))]
        while stack:
            state, following = stack[-1]
            for _, _, target in following:
                if target not in seen:
                    seen.add(target)
                    stack.append((target, iter(self.arcs[target])))
                    break
            else:
                found.append(state)
                stack.pop()
        return found[::-1]


def determinize(network: Network) -> list[Shape]:
    """One state for each set of network states that a beginning can lead to; state 0 starts."""
    number: dict[frozenset[int], int] = {}
    shapes: list[Shape] = []
    agenda: list[frozenset[int]] = []

    def state_of(members: frozenset[int]) -> int:
        if members not in number:
            number[members] = len(shapes)
            shapes.append(({}, END in members))
            agenda.append(members)
        return number[members]

    silent = _silent_reach(network)
    state_of(silent[START])
    while agenda:
        members = agenda.pop()
        by_word: dict[str, set[int]] = defaultdict(set)
        for member in members:
            for word, _, target in network.arcs[member]:
                if word is not None:
                    by_word[word] |= silent[target]
        here = number[members]
        for word, targets in by_word.items():
            shapes[here][0][word] = state_of(frozenset(targets))
    return shapes


def _silent_reach(network: Network) -> dict[int, frozenset[int]]:
    """The states reached from each without a word, of those that have a word arc or are the end."""
    reach: dict[int, frozenset[int]] = {}
    for state in reversed(network.order()):
        members: set[int] = set()
        if state == END or any(word is not None for word, _, _ in network.arcs[state]):
            members.add(state)
        for word, _, target in network.arcs[state]:
            if word is None:
                members |= reach[target]
        reach[state] = frozenset(members)
    return reach


def minimize(shapes: list[Shape]) -> list[Shape]:
    """Merge states from which the same endings follow; exact, since nothing loops."""
    merged: dict[tuple[tuple[tuple[str, int], ...], bool], int] = {}
    new_of: dict[int, int] = {}
    small: list[Shape] = []
    for state in _endings_first(shapes):
        arcs = {word: new_of[target] for word, target in shapes[state][0].items()}
        key = (tuple(sorted(arcs.items())), shapes[state][1])
        if key not in merged:
            merged[key] = len(small)
            small.append((arcs, shapes[state][1]))
        new_of[state] = merged[key]
    return _renumbered(small, new_of[0])


def _endings_first(shapes: list[Shape]) -> list[int]:
    network = Network([[(w, 0.0, t) for w, t in arcs.items()] for arcs, _ in shapes])
    return network.order()[::-1]


def _renumbered(shapes: list[Shape], start: int) -> list[Shape]:
    """Number the states in the order in which they are met from the start, which becomes 0."""
    number = {start: 0}
    queue = [start]
    for state in queue:
        for word in sorted(shapes[state][0]):
            target = shapes[state][0][word]
            if target not in number:
                number[target] = len(queue)
                queue.append(target)
    return [
        ({w: number[t] for w, t in sorted(shapes[old][0].items())}, shapes[old][1]) for old in queue
    ]


def weigh(network: Network, shapes: list[Shape]) -> tuple[list[dict[str, float]], dict[int, float]]:
    """Costs (-ln chance) for each arc and end of the deterministic acceptor.

    The network makes sentences with certain chances. How often these use each arc of the acceptor
    gives the acceptor of that shape nearest to the network (least Kullback-Leibler divergence).
    """
    use: list[dict[str, float]] = [defaultdict(float) for _ in shapes]
    ends: dict[int, float] = defaultdict(float)
    mass: dict[int, dict[int, float]] = defaultdict(lambda: defaultdict(float))
    mass[START][0] = 1.0
    for state in network.order():
        for here, amount in mass.pop(state, {}).items():
            if state == END:
                ends[here] += amount
            for word, chance, target in network.arcs[state]:
                there = here if word is None else shapes[here][0][word]
                mass[target][there] += amount * chance
                if word is not None:
                    use[here][word] += amount * chance
    return _costs(use, ends)


def _costs(
    use: list[dict[str, float]], ends: dict[int, float]
) -> tuple[list[dict[str, float]], dict[int, float]]:
    totals = [sum(arcs.values()) + ends.get(state, 0.0) for state, arcs in enumerate(use)]
    arcs = [
        {word: -math.log(amount / total) for word, amount in arcs.items()}
        for arcs, total in zip(use, totals, strict=True)
    ]
    return arcs, {state: -math.log(amount / totals[state]) for state, amount in ends.items()}
