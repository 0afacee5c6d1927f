"""The parts of a step, from the parse tree."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from decimal import Decimal
from typing import Any

from lark import Token, Tree

from fieldvoice.procedure.settings import Place, ProcedureError
from fieldvoice.procedure.step import (
    Bar,
    Beside,
    Check,
    Ending,
    Hold,
    Know,
    Need,
    Repeat,
    Step,
    Way,
    When,
)

Node = Tree[Token]


def count_of(node: Node) -> int:
    """The number at the end of a node, as a number of times; ProcedureError when it is none."""
    number = next(c for c in reversed(node.children) if isinstance(c, Token))
    if not str(number).isdigit() or int(number) < 1:
        raise ProcedureError(place_of(number), f"{number} is not a number of times",
                             "write a whole number from 1 up")
    return int(number)


def trees(node: Node, data: str) -> list[Node]:
    """The children of one rule."""
    return [c for c in node.children if isinstance(c, Tree) and c.data == data]


def text_of(node: Any) -> str:
    """The strings of a text node, joined by a blank where they stand on several lines."""
    return " ".join(str(part)[1:-1].strip() for part in node.children)


def place_of(node: Any) -> Place:
    """Where a node or token begins."""
    if isinstance(node, Token):
        return Place(node.line or 0, node.column or 0)
    return Place(node.meta.line, node.meta.column)


def _only(node: Node, already: object, step: Step) -> None:
    if already:
        raise ProcedureError(place_of(node), f"step {step.name} has a second {node.data}",
                             "keep one of them, or make two steps")


def _placed(step: Step, part: str, node: Node) -> Step:
    return replace(step, places={**step.places, part: place_of(node)})


def _say(step: Step, node: Node) -> Step:
    _only(node, step.say, step)
    return replace(_placed(step, "say", node), say=text_of(node.children[0]))


def _show(step: Step, node: Node) -> Step:
    _only(node, step.show, step)
    return replace(_placed(step, "show", node), show=text_of(node.children[0]))


def _why(step: Step, node: Node) -> Step:
    _only(node, step.why, step)
    return replace(_placed(step, "why", node), why=text_of(node.children[0]))


def _give_caution(step: Step, node: Node) -> Step:
    name = str(node.children[0])
    return replace(_placed(step, name, node), cautions=(*step.cautions, name))


def _gate(step: Step, _node: Node) -> Step:
    return replace(step, gate=True)


def _always(step: Step, _node: Node) -> Step:
    return replace(step, always=True)


def _once(step: Step, _node: Node) -> Step:
    return replace(step, once=True)


def _only_when(step: Step, node: Node) -> Step:
    answer, *options = (str(c) for c in node.children if isinstance(c, Token))
    low = high = None
    for part in node.children:
        if isinstance(part, Tree):
            low, high = _bound(part)
    when = When(answer, tuple(options), place_of(node), low, high)
    return replace(step, when=(*step.when, when))


def _bound(node: Node) -> tuple[str | None, str | None]:
    """The names of the lower and the upper limit."""
    names = [str(c) for c in node.children]
    if node.data == "between":
        return names[0], names[1]
    return (names[0], None) if node.data == "at_least" else (None, names[0])


def _need(step: Step, node: Node) -> Step:
    low = high = otherwise = None
    times = 1
    for part in node.children[1:]:
        assert isinstance(part, Tree)
        if part.data == "times":
            times = count_of(part)
        elif part.data == "otherwise":
            otherwise = str(part.children[0])
        else:
            low, high = _bound(part)
    need = Need(str(node.children[0]), low, high, times, otherwise, place_of(node))
    return replace(step, needs=(*step.needs, need))


def _hold(step: Step, node: Node) -> Step:
    _only(node, step.hold, step)
    hold = Hold(str(node.children[0]), text_of(node.children[1]), place=place_of(node))
    for asks in trees(node, "asks"):
        marks = tuple(Decimal(str(c)) for c in asks.children[1:] if isinstance(c, Token))
        every = [Decimal(str(e.children[0])) for e in trees(asks, "every")]
        if list(marks) != sorted({abs(m) for m in marks}) or any(e <= 0 for e in every):
            raise ProcedureError(place_of(asks), "the minutes to ask at do not grow",
                                 "write them in order, such as 0 1 2 5 10")
        hold = replace(hold, quantity=str(asks.children[0]), marks=marks,
                       every=every[0] if every else None)
    for judge in trees(node, "judge"):
        names = [str(c) for c in judge.children]
        hold = replace(hold, judge=names[0], limit=names[1],
                       forgiven=names[2] if len(names) > 2 else None)
    return replace(step, hold=hold)


def _timer(step: Step, node: Node) -> Step:
    _only(node, step.timer, step)
    return replace(step, timer=Beside(
        str(node.children[0]), text_of(node.children[1]), place_of(node)))


def _branch(step: Step, node: Node) -> Step:
    verdict, to = (str(c) for c in node.children)
    return replace(step, branches=(*step.branches, Way(verdict, to, place=place_of(node))))


def _choose(step: Step, node: Node) -> Step:
    texts = [text_of(t) for t in trees(node, "text")]
    ways = [str(w.children[0]) for w in trees(node, "way")]
    way = Way(str(node.children[0]), ways[0] if ways else None, "".join(texts), place_of(node))
    return replace(step, choices=(*step.choices, way))


def _check(step: Step, node: Node) -> Step:
    _only(node, step.check, step)
    names = [str(c) for c in node.children]
    found = Check(names[0], names[1] if len(names) > 1 else None, place_of(node))
    return replace(step, check=found)


def _anytime(step: Step, node: Node) -> Step:
    way = next(str(w.children[0]) for w in trees(node, "way"))
    found = Way(str(node.children[0]), way, text_of(node.children[1]), place_of(node))
    return replace(step, exits=(*step.exits, found))


def _repeat(step: Step, node: Node) -> Step:
    _only(node, step.repeat, step)
    found = Repeat(str(node.children[0]), count_of(node), place_of(node))
    return replace(step, repeat=found)


def _go(step: Step, node: Node) -> Step:
    _only(node, step.go, step)
    return replace(step, go=Way("go", str(node.children[0]), place=place_of(node)))


def _ending(step: Step, node: Node) -> Step:
    _only(node, step.ending, step)
    texts = "".join(text_of(t) for t in trees(node, "text"))
    return replace(step, ending=Ending(str(node.children[0]), texts))


def _know(step: Step, node: Node) -> Step:
    _only(node, step.know, step)
    return replace(step, know=Know(str(node.children[0]), place_of(node)))


def bounded(node: Node) -> Need:
    """A quantity with its limits, read of nobody: what a stage asks of who jumps there."""
    bound = next(c for c in node.children if isinstance(c, Tree))
    return Need(str(node.children[0]), *_bound(bound), place=place_of(node))


def _no_way_back(step: Step, node: Node) -> Step:
    _only(node, step.bar, step)
    return replace(step, bar=Bar(tuple(str(c) for c in node.children), place_of(node)))


PARTS: dict[str, Callable[[Step, Node], Step]] = {
    "say": _say, "show": _show, "why": _why, "give_caution": _give_caution, "gate": _gate,
    "only_when": _only_when, "need": _need, "hold": _hold, "branch": _branch, "choose": _choose,
    "timer": _timer, "check": _check,
    "always": _always, "once": _once,
    "anytime": _anytime, "repeat": _repeat, "go": _go, "ending": _ending,
    "know": _know,
    "no_way_back": _no_way_back,
}
