"""Procedure text to Procedure; faults carry line, column and what to do."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from decimal import Decimal
from functools import cache
from importlib import resources
from typing import Any

from lark import Lark, Token, Tree
from lark.exceptions import UnexpectedCharacters, UnexpectedEOF, UnexpectedInput, UnexpectedToken
from lark.lexer import PatternRE, PatternStr, TerminalDef

from fieldvoice.job import procedure as p
from fieldvoice.job.procedure import Place, Procedure, ProcedureError
from fieldvoice.job.procedure_include import expand
from fieldvoice.job.procedure_write import write

Node = Tree[Token]
# what a keyword wants next, by the terminal that the parser asked for
_WANTED = {
    "STRING": 'write a text in "double quotes"',
    "NAME": "write a name: lower-case words joined by hyphens",
    "UNIT": "write a unit, such as microns, psig, min or degF",
    "NUMBER": "write a number",
    "SOURCE": 'say who sets the value: source "common practice" or the document',
    "STAGE": "begin the first stage with: stage NAME \"title\"",
    "STEP": "write at least one step under the stage: step NAME",
    "PROCEDURE": 'begin the file with: procedure NAME "title"',
    "EQUAL": "write = and the value",
}


def parse(text: str) -> Procedure:
    """Read a procedure; raises the first ProcedureError of its form (procedure_check: meaning).

    Where it includes others (those that come with the package), `text` of the result is the text
    with all their steps written out, so that it can be read again without them.
    """
    return _read(text, ())


def _read(text: str, within: tuple[str, ...]) -> Procedure:
    try:
        tree = _grammar().parse(text)
    except UnexpectedInput as error:
        raise _form_fault(error, text) from None
    procedure = _Builder(text).procedure(tree)
    if not procedure.includes:
        return procedure

    def find(name: str) -> Procedure:
        place = next(v.place for v in procedure.includes if v.name == name)
        if name in (*within, procedure.name):
            raise ProcedureError(place, f"{name} includes itself", "take one include out")
        try:
            return _read(_file(name), (*within, procedure.name))
        except FileNotFoundError as error:
            raise ProcedureError(place, str(error), "include one of those") from None

    return _read(write(expand(procedure, find)), within)


def shipped(name: str) -> str:
    """The text of a procedure that comes with the package, its includes written out.

    FileNotFoundError names those there are.
    """
    return parse(_file(name)).text


def _file(name: str) -> str:
    folder = resources.files("fieldvoice.grammar") / "procedures"
    found = folder / f"{name.removesuffix('.procedure')}.procedure"
    if not found.is_file():
        known = ", ".join(shipped_names())
        raise FileNotFoundError(f"no procedure is called {name!r}: try {known}")
    return found.read_text(encoding="utf-8")


def shipped_names() -> list[str]:
    """Names of the procedures that come with the package."""
    folder = resources.files("fieldvoice.grammar") / "procedures"
    names = (f.name for f in folder.iterdir())
    return sorted(n.removesuffix(".procedure") for n in names if n.endswith(".procedure"))


@cache
def _grammar() -> Lark:
    text = (resources.files("fieldvoice.grammar") / "procedure.lark").read_text(encoding="utf-8")
    return Lark(text, parser="lalr", propagate_positions=True, maybe_placeholders=False,
                edit_terminals=_whole_words)


def _whole_words(terminal: TerminalDef) -> None:
    """Keywords match whole words only: "holds" is no "hold" with an "s" behind it."""
    if isinstance(terminal.pattern, PatternStr) and terminal.pattern.value.isalpha():
        terminal.pattern = PatternRE(terminal.pattern.value + r"(?![A-Za-z0-9-])")
        terminal.priority = 1  # before NAME


def _form_fault(error: UnexpectedInput, text: str) -> ProcedureError:
    if isinstance(error, UnexpectedEOF) or getattr(error, "token", None) == Token("$END", ""):
        lines = text.splitlines() or [""]
        where, seen = Place(len(lines), len(lines[-1]) + 1), "the file ends too early"
    elif isinstance(error, UnexpectedCharacters):
        where = Place(error.line, error.column)
        seen = f"{error.char!r} cannot stand here"
        if error.char == '"':
            return ProcedureError(where, "this text is not closed on its line",
                                  'end each line of a text with "')
    else:
        assert isinstance(error, UnexpectedToken)
        where = Place(error.line, error.column)
        seen = f"{str(error.token)!r} cannot stand here"
    wanted: set[str] = set()
    for name in ("accepts", "allowed", "expected"):  # each kind of error has one or the other
        wanted = wanted or set(getattr(error, name, None) or ())
    return ProcedureError(where, seen, _advice(wanted))


def _advice(wanted: set[str]) -> str:
    if len(wanted) <= 2:
        for name in sorted(wanted):
            if name in _WANTED:
                return _WANTED[name]
    words = sorted(w.lower() for w in wanted if not w.startswith("$"))
    return "what can stand here: " + ", ".join(words)


class _Builder:
    """Walks the tree; keeps what was seen so that doubled names are refused with their place."""

    def __init__(self, text: str) -> None:
        self.text = text

    def procedure(self, tree: Node) -> Procedure:
        name, title = str(tree.children[0]), _text(tree.children[1])
        head = [c for c in tree.children[2:] if isinstance(c, Tree)]
        includes = _includes(head)
        stages = [c for c in head if c.data == "stage"]
        steps = [self.step(node, str(stage.children[0]))
                 for stage in stages for node in _trees(stage, "step")]
        _refuse_doubles("step", [(s.name, s.place) for s in steps])
        return Procedure(
            name, title, self.text,
            intro=" ".join(_text(c.children[0]) for c in head if c.data == "intro"),
            limits=_named("limit", [_limit(c) for c in head if c.data == "limit"]),
            criteria=_named("criterion", [_criterion(c) for c in head if c.data == "criterion"]),
            cautions=_named("caution", [_caution(c) for c in head if c.data == "define_caution"]),
            opening=tuple(str(n) for c in head if c.data == "begin_with" for n in c.children),
            stages=_named("stage", [_stage(c) for c in stages]),
            steps=tuple(steps), includes=includes,
        )

    def step(self, node: Node, stage: str) -> p.Step:
        found = p.Step(str(node.children[0]), stage, place=_place(node))
        for part in node.children[1:]:
            assert isinstance(part, Tree)
            found = _PARTS[str(part.data)](found, part)
        return found


def _includes(parts: list[Node]) -> tuple[p.Include, ...]:
    found: list[p.Include] = []
    before = 0
    for part in parts:
        if part.data == "stage":
            before += len(_trees(part, "step"))
        if part.data == "include":
            name, *start = (str(c) for c in part.children if isinstance(c, Token))
            outcomes = tuple(p.Way(str(b.children[0]), str(b.children[1]), place=_place(b))
                             for b in _trees(part, "branch"))
            found.append(
                p.Include(name, start[0] if start else None, outcomes, before, _place(part)))
    return tuple(found)


def _only(node: Node, already: object, step: p.Step) -> None:
    if already:
        raise ProcedureError(_place(node), f"step {step.name} has a second {node.data}",
                             "keep one of them, or make two steps")


def _say(step: p.Step, node: Node) -> p.Step:
    _only(node, step.say, step)
    return replace(step, say=_text(node.children[0]))


def _show(step: p.Step, node: Node) -> p.Step:
    _only(node, step.show, step)
    return replace(step, show=_text(node.children[0]))


def _why(step: p.Step, node: Node) -> p.Step:
    _only(node, step.why, step)
    return replace(step, why=_text(node.children[0]))


def _give_caution(step: p.Step, node: Node) -> p.Step:
    return replace(step, cautions=(*step.cautions, str(node.children[0])))


def _gate(step: p.Step, _node: Node) -> p.Step:
    return replace(step, gate=True)


def _only_when(step: p.Step, node: Node) -> p.Step:
    answer, *options = (str(c) for c in node.children)
    return replace(step, when=(*step.when, p.When(answer, tuple(options), _place(node))))


def _need(step: p.Step, node: Node) -> p.Step:
    low = high = otherwise = None
    times = 1
    for part in node.children[1:]:
        assert isinstance(part, Tree)
        names = [str(c) for c in part.children]
        if part.data == "at_most":
            high = names[0]
        elif part.data == "at_least":
            low = names[0]
        elif part.data == "between":
            low, high = names
        elif part.data == "times":
            times = _count(part)
        else:
            otherwise = names[0]
    need = p.Need(str(node.children[0]), low, high, times, otherwise, _place(node))
    return replace(step, needs=(*step.needs, need))


def _hold(step: p.Step, node: Node) -> p.Step:
    _only(node, step.hold, step)
    hold = p.Hold(str(node.children[0]), _text(node.children[1]), place=_place(node))
    for asks in _trees(node, "asks"):
        marks = tuple(Decimal(str(c)) for c in asks.children[1:] if isinstance(c, Token))
        every = [Decimal(str(e.children[0])) for e in _trees(asks, "every")]
        if list(marks) != sorted(set(marks)) or any(e <= 0 for e in every):
            raise ProcedureError(_place(asks), "the minutes to ask at do not grow",
                                 "write them in order, such as 0 1 2 5 10")
        hold = replace(hold, quantity=str(asks.children[0]), marks=marks,
                       every=every[0] if every else None)
    for judge in _trees(node, "judge"):
        hold = replace(hold, judge=str(judge.children[0]), limit=str(judge.children[1]))
    return replace(step, hold=hold)


def _branch(step: p.Step, node: Node) -> p.Step:
    verdict, to = (str(c) for c in node.children)
    return replace(step, branches=(*step.branches, p.Way(verdict, to, place=_place(node))))


def _choose(step: p.Step, node: Node) -> p.Step:
    texts = [_text(t) for t in _trees(node, "text")]
    ways = [str(w.children[0]) for w in _trees(node, "way")]
    way = p.Way(str(node.children[0]), ways[0] if ways else None, "".join(texts), _place(node))
    return replace(step, choices=(*step.choices, way))


def _check(step: p.Step, node: Node) -> p.Step:
    _only(node, step.check, step)
    names = [str(c) for c in node.children]
    found = p.Check(names[0], names[1] if len(names) > 1 else None, _place(node))
    return replace(step, check=found)


def _anytime(step: p.Step, node: Node) -> p.Step:
    way = next(str(w.children[0]) for w in _trees(node, "way"))
    found = p.Way(str(node.children[0]), way, _text(node.children[1]), _place(node))
    return replace(step, exits=(*step.exits, found))


def _repeat(step: p.Step, node: Node) -> p.Step:
    _only(node, step.repeat, step)
    found = p.Repeat(str(node.children[0]), _count(node), _place(node))
    return replace(step, repeat=found)


def _go(step: p.Step, node: Node) -> p.Step:
    _only(node, step.go, step)
    return replace(step, go=p.Way("go", str(node.children[0]), place=_place(node)))


def _ending(step: p.Step, node: Node) -> p.Step:
    _only(node, step.ending, step)
    texts = "".join(_text(t) for t in _trees(node, "text"))
    return replace(step, ending=p.Ending(str(node.children[0]), texts))


_PARTS: dict[str, Callable[[p.Step, Node], p.Step]] = {
    "say": _say, "show": _show, "why": _why, "give_caution": _give_caution, "gate": _gate,
    "only_when": _only_when, "need": _need, "hold": _hold, "branch": _branch, "choose": _choose,
    "check": _check,
    "anytime": _anytime, "repeat": _repeat, "go": _go, "ending": _ending,
}


def _limit(node: Node) -> p.Limit:
    name, value, unit, source = node.children
    return p.Limit(str(name), Decimal(str(value)), str(unit), _text(source), _place(node))


def _criterion(node: Node) -> p.Criterion:
    name, document = str(node.children[0]), _text(node.children[1])
    settings = tuple(
        p.Limit(str(s.children[0]), Decimal(str(s.children[1])), str(s.children[2]), document,
                _place(s))
        for s in _trees(node, "setting")
    )
    return p.Criterion(name, document, settings, _place(node))


def _caution(node: Node) -> p.Caution:
    name, text = str(node.children[0]), _text(node.children[1])
    return p.Caution(name, text, len(node.children) > 2, _place(node))


def _stage(node: Node) -> p.Stage:
    return p.Stage(str(node.children[0]), _text(node.children[1]), _place(node))


def _count(node: Node) -> int:
    number = next(c for c in reversed(node.children) if isinstance(c, Token))
    if not str(number).isdigit() or int(number) < 1:
        raise ProcedureError(_place(number), f"{number} is not a number of times",
                             "write a whole number from 1 up")
    return int(number)


def _trees(node: Node, data: str) -> list[Node]:
    return [c for c in node.children if isinstance(c, Tree) and c.data == data]


def _text(node: Any) -> str:
    """The strings of a text node, joined by a blank where they stand on several lines."""
    return " ".join(str(part)[1:-1].strip() for part in node.children)


def _place(node: Any) -> Place:
    if isinstance(node, Token):
        return Place(node.line or 0, node.column or 0)
    return Place(node.meta.line, node.meta.column)


def _refuse_doubles(what: str, named: list[tuple[str, Place]]) -> None:
    seen: dict[str, Place] = {}
    for name, place in named:
        if name in seen:
            raise ProcedureError(place, f"{what} {name} is already there (line {seen[name].line})",
                                 "give one of them another name")
        seen[name] = place


def _named(what: str, found: list[Any]) -> dict[str, Any]:
    _refuse_doubles(what, [(f.name, f.place) for f in found])
    return {f.name: f for f in found}
