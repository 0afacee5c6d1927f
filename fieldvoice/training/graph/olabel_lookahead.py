"""Write OpenFst's `olabel_lookahead` transducers, which Vosk composes with a grammar on the fly."""

from __future__ import annotations

import struct
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from itertools import chain, pairwise
from pathlib import Path

from fieldvoice.training.graph.openfst import EXPANDED, INFINITE, Fst, header

EPSILON = 0
FINAL = -1  # OpenFst's kNoLabel; as an output label it stands for the end of a path
ADD_ON_MAGIC = 446681434
WRAPPER_VERSION, CONST_VERSION = 1, 2  # of the two file headers

NO_WEIGHT = (0.0, INFINITE)  # costs that count as no weight
Interval = tuple[int, int]  # of labels: from the first up to, but without, the second
Graph = Sequence[Sequence[int]]  # node -> the nodes that its arcs lead to


@dataclass(frozen=True)
class Reachability:
    """New output labels, and for each state an interval set of those that can come next in it."""

    labels: dict[int, int]  # old label -> new one, epsilon left out; FINAL among them
    interval_sets: list[list[Interval]]  # by state; sorted, none touches the next


def write_lookahead(fst: Fst, path: Path) -> dict[int, int]:
    """Write the useful part of a transducer; returns old to new output labels.

    Labels of arcs that lie on no path to a final state are not in the result, nor is epsilon.
    Raises ValueError for a transducer without any path, or with a label below 0.
    """
    if any(min(arc[:2]) < EPSILON for arcs in fst.arcs for arc in arcs):
        raise ValueError("labels below 0 have a meaning of their own in OpenFst")
    fst = sort_by_output(connect(fst))
    if not fst.arcs:
        raise ValueError("no path leads from the start to a final state")
    reachability = find_reachability(fst)
    fst = sort_by_output(_relabel(fst, reachability.labels))
    path.write_bytes(_lookahead_bytes(fst, reachability))
    return {old: new for old, new in reachability.labels.items() if old != FINAL}


def connect(fst: Fst) -> Fst:
    """Only the states on paths from state 0 to a final state, in their order and numbered anew."""
    finals = {state: cost for state, cost in fst.finals.items() if cost < INFINITE}
    graph = [[target for _, _, _, target in arcs] for arcs in fst.arcs]
    accessible, _ = _depth_first(graph, [0] if graph else [], set())
    coaccessible, _ = _depth_first(_reversed(graph), finals, set())
    kept = {old: new for new, old in enumerate(sorted({*accessible} & {*coaccessible}))}
    arcs = [[(*arc[:3], kept[arc[3]]) for arc in fst.arcs[old] if arc[3] in kept] for old in kept]
    return Fst(arcs, {kept[old]: cost for old, cost in finals.items() if old in kept})


def sort_by_output(fst: Fst) -> Fst:
    """Sort each state's arcs by output label, then input label, cost and target."""
    arcs = [sorted(arcs, key=lambda arc: (arc[1], arc[0], *arc[2:])) for arcs in fst.arcs]
    return Fst(arcs, fst.finals)


def find_reachability(fst: Fst) -> Reachability:
    """Renumber the output labels so that those that can come next form few intervals.

    Labels are numbered from 1 in the order in which a depth-first search meets them, as what lies
    below one node is then mostly one interval. The result depends on the order of the arcs.
    """
    graph, leaf_of = _label_graph(fst)
    component_of = _components(graph, len(graph) - 1)
    condensed = _condensed(graph, component_of)
    label_at = {component_of[leaf]: label for label, leaf in leaf_of.items()}
    found, _ = _depth_first(condensed, [component_of[-1], *range(len(condensed))], set())
    met = [component for component in found if component in label_at]
    labels = {label_at[component]: new for new, component in enumerate(met, 1)}
    reached: list[list[Interval]] = [[] for _ in condensed]
    for component in reversed(range(len(condensed))):  # successors have higher numbers
        if component in label_at:
            new = labels[label_at[component]]
            reached[component] = [(new, new + 1)]
        else:
            below = (reached[target] for target in condensed[component])
            reached[component] = _merged(chain.from_iterable(below))
    return Reachability(labels, [reached[component_of[s]] for s in range(len(fst.arcs))])


def _label_graph(fst: Fst) -> tuple[Graph, dict[int, int]]:
    """Lead each arc with an output, and the end in a final state, to a leaf for that label.

    What can be reached then are the labels that can come next. The last node is a start before all
    states that have no other way in. Returns the graph and each label's leaf.
    """
    leaf_of: dict[int, int] = {}
    graph: list[list[int]] = []
    for state, arcs in enumerate(fst.arcs):
        ways = [(output, target) for _, output, _, target in arcs]
        ways += [(FINAL, state)] if state in fst.finals else []
        graph.append([])
        for label, target in ways:
            if label != EPSILON:
                target = leaf_of.setdefault(label, len(fst.arcs) + len(leaf_of))
            graph[-1].append(target)
    entered = {target for targets in graph for target in targets}
    start = [state for state in range(len(fst.arcs)) if state not in entered]
    return [*graph, *([] for _ in leaf_of), start], leaf_of


def _reversed(graph: Graph) -> Graph:
    backwards: list[list[int]] = [[] for _ in graph]
    for node, targets in enumerate(graph):
        for target in targets:
            backwards[target].append(node)
    return backwards


def _depth_first(graph: Graph, roots: Iterable[int], seen: set[int]) -> tuple[list[int], list[int]]:
    """Nodes from the roots on, in the orders of finding and of finishing; they join `seen`."""
    found, finished = list[int](), list[int]()
    path, ways = (
        list[int](),
        [iter(roots)],
    )  # the nodes from root to here, and the ways left at each
    while ways:
        node = next((node for node in ways[-1] if node not in seen), None)
        if node is not None:
            seen.add(node)
            found.append(node)
            path.append(node)
            ways.append(iter(graph[node]))
        else:
            ways.pop()
            finished += [path.pop()] if path else []
    return found, finished


def _components(graph: Graph, start: int) -> list[int]:
    """Each node's strongly connected component (Kosaraju's algorithm), in topological order."""
    _, finished = _depth_first(graph, [start, *range(len(graph))], set())
    component_of, count, seen = [0] * len(graph), 0, set[int]()
    backwards = _reversed(graph)
    for root in reversed(finished):
        if root not in seen:
            for node in _depth_first(backwards, [root], seen)[0]:
                component_of[node] = count
            count += 1
    return component_of


def _condensed(graph: Graph, component_of: list[int]) -> Graph:
    """The graph with each component made one node, which leaves no cycles but loops."""
    condensed: list[list[int]] = [[] for _ in range(1 + max(component_of))]
    for node, targets in enumerate(graph):
        condensed[component_of[node]] += [component_of[target] for target in targets]
    return condensed


def _merged(intervals: Iterable[Interval]) -> list[Interval]:
    """Sort intervals and join those that overlap or touch."""
    merged: list[Interval] = []
    for begin, end in sorted(intervals):
        if merged and begin <= merged[-1][1]:
            merged[-1] = (merged[-1][0], max(end, merged[-1][1]))
        else:
            merged.append((begin, end))
    return merged


def _relabel(fst: Fst, labels: dict[int, int]) -> Fst:
    new = {EPSILON: EPSILON, **labels}
    return Fst([[(i, new[o], cost, to) for i, o, cost, to in a] for a in fst.arcs], fst.finals)


def _properties(fst: Fst) -> int:
    """OpenFst's property bits of a connected transducer; a reader takes them on trust."""
    arcs = [(source, *arc) for source, arcs in enumerate(fst.arcs) for arc in arcs]
    labels = [(input, output) for _, input, output, _, _ in arcs]
    inputs = [[input for input, _, _, _ in arcs] for arcs in fst.arcs]
    outputs = [[output for _, output, _, _ in arcs] for arcs in fst.arcs]
    targets = [[target for _, _, _, target in arcs] for arcs in fst.arcs]
    component_of, last = _components(targets, 0), len(fst.arcs) - 1
    cyclic = [arc for arc in arcs if component_of[arc[0]] == component_of[arc[4]]]
    facts = [  # in OpenFst's order
        all(input == output for input, output in labels),
        all(len(set(labels)) == len(labels) for labels in inputs),  # deterministic
        all(len(set(labels)) == len(labels) for labels in outputs),
        (EPSILON, EPSILON) in labels,
        any(input == EPSILON for input, _ in labels),
        any(output == EPSILON for _, output in labels),
        all(a <= b for labels in inputs for a, b in pairwise(labels)),  # sorted
        all(a <= b for labels in outputs for a, b in pairwise(labels)),
        any(cost not in NO_WEIGHT for *_, cost, _ in arcs) or any(fst.finals.values()),
        bool(cyclic),
        any(component_of[source] == component_of[0] for source, *_ in cyclic),  # through the start
        all(target > source for source, *_, target in arcs),  # topologically sorted
        True,  # every state is accessible
        True,  # and coaccessible
        targets == [*([state + 1] for state in range(last)), []] and [*fst.finals] == [last],
        any(cost not in NO_WEIGHT for *_, cost, _ in cyclic),
    ]
    # Two bits a property, for "holds" and "does not hold": neither would mean "not known".
    return EXPANDED + sum((1 if fact else 2) << (16 + 2 * k) for k, fact in enumerate(facts))


def _lookahead_bytes(fst: Fst, reachability: Reachability) -> bytes:
    """A header of the whole, the transducer with a header of its own, and what is added on."""
    properties = _properties(fst)
    # The outer header has no start and counts nothing: the inner one does.
    outer = header("olabel_lookahead", WRAPPER_VERSION, properties, -1, 0, 0)
    arcs = sum(map(len, fst.arcs))
    inner = header("const", CONST_VERSION, properties, 0, len(fst.arcs), arcs)
    magic = struct.pack("<i", ADD_ON_MAGIC)  # shows a reader that what follows is no plain FST
    return outer + magic + inner + _const_body(fst) + _add_on(reachability)


def _const_body(fst: Fst) -> bytes:
    """All states, each with where its arcs begin and its numbers of epsilons; then all arcs."""
    states, arcs, position = bytearray(), bytearray(), 0
    for state, own in enumerate(fst.arcs):
        epsilons = (sum(arc[side] == EPSILON for arc in own) for side in (0, 1))
        cost = fst.finals.get(state, INFINITE)
        states += struct.pack("<fIIII", cost, position, len(own), *epsilons)
        arcs += b"".join(struct.pack("<iifi", *arc) for arc in own)
        position += len(own)
    return bytes(states + arcs)


def _add_on(reachability: Reachability) -> bytes:
    """The pair of look-ahead data, by input labels and by output labels; only the second is there.

    The table of old to new labels is not kept: words.txt and the grammar already have the new ones.
    """
    present, by_input, by_output, looks_at_input, keeps_table = True, False, True, False, False
    data = struct.pack("<5?", present, by_input, by_output, looks_at_input, keeps_table)
    data += struct.pack("<iq", reachability.labels[FINAL], len(reachability.interval_sets))
    for intervals in reachability.interval_sets:
        data += struct.pack("<q", len(intervals))
        data += b"".join(struct.pack("<ii", *interval) for interval in intervals)
        data += struct.pack("<i", sum(end - begin for begin, end in intervals))  # labels in the set
    return data
