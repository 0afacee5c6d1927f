"""Procedure text to Procedure; faults carry line, column and what to do."""

from __future__ import annotations

from dataclasses import replace
from decimal import Decimal
from functools import cache, lru_cache
from importlib import resources
from typing import Any

from lark import Lark, Token, Tree
from lark.exceptions import UnexpectedCharacters, UnexpectedEOF, UnexpectedInput, UnexpectedToken
from lark.lexer import PatternRE, PatternStr, TerminalDef

from fieldvoice.procedure.include import expand, within_file
from fieldvoice.procedure.model import Include, Procedure, Stage
from fieldvoice.procedure.settings import Caution, Criterion, Limit, Place, ProcedureError
from fieldvoice.procedure.step import Step, Way
from fieldvoice.procedure.step_parts import PARTS, Node, bounded, place_of, text_of, trees
from fieldvoice.procedure.writer import write
from fieldvoice.quantity.written_units import unit_name

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
_OF_A_STAGE = {"CALLED", "PART", "AGAIN", "NEEDS"}  # may stand before its first step


@lru_cache(maxsize=64)  # going on with a job asks for one text twice
def parse(text: str) -> Procedure:
    """Read a procedure; raises the first ProcedureError of its form (check.py: of its meaning).

    Where it includes others (those that come with the package), `text` of the result is the text
    with all their steps written out, so that it can be read again without them.
    """
    return _read(text, ())


def _read(text: str, within: tuple[str, ...]) -> Procedure:
    procedure = _as_written(text)
    if not procedure.includes:
        return procedure

    def find(name: str) -> Procedure:
        place = next(v.place for v in procedure.includes if v.name == name)
        if name in (*within, procedure.name):
            raise ProcedureError(place, f"{name} includes itself", "take one include out")
        file = f"{name}.procedure"
        try:
            found: Procedure = within_file(_read(_file(name), (*within, procedure.name)), file)
            return found
        except FileNotFoundError as error:
            raise ProcedureError(place, str(error), "include one of those") from None
        except ProcedureError as error:
            at = within_file(error.place, file)
            raise ProcedureError(at, error.what, error.advice) from None

    whole = expand(procedure, find)  # its places stay those of this file, for faults found later
    return replace(whole, text=write(whole))


@lru_cache(maxsize=64)  # several procedures include the same one
def _as_written(text: str) -> Procedure:
    """One file by itself, its includes still to be taken in."""
    try:
        tree = _grammar().parse(text)
    except UnexpectedInput as error:
        raise _form_fault(error, text) from None
    found: Procedure = _Builder(text).procedure(tree)
    return found


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
    if "STEP" in wanted:
        wanted = wanted - _OF_A_STAGE
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
        name, title = str(tree.children[0]), text_of(tree.children[1])
        head = [c for c in tree.children[2:] if isinstance(c, Tree)]
        includes = _includes(head)
        stages = [c for c in head if c.data == "stage"]
        steps = [self.step(node, str(stage.children[0]))
                 for stage in stages for node in trees(stage, "step")]
        _refuse_doubles("step", [(s.name, s.place) for s in steps])
        return Procedure(
            name, title, self.text,
            intro=" ".join(text_of(c.children[0]) for c in head if c.data == "intro"),
            limits=_named("limit", [_limit(c) for c in head if c.data == "limit"]),
            criteria=_named("criterion", [_criterion(c) for c in head if c.data == "criterion"]),
            cautions=_named("caution", [_caution(c) for c in head if c.data == "define_caution"]),
            opening=tuple(str(n) for c in head if c.data == "begin_with" for n in c.children),
            opening_places={str(n): place_of(n) for c in head if c.data == "begin_with"
                            for n in c.children},
            stages=_named("stage", [_stage(c) for c in stages]),
            steps=tuple(steps), includes=includes,
        )

    def step(self, node: Node, stage: str) -> Step:
        found = Step(str(node.children[0]), stage, place=place_of(node))
        for part in node.children[1:]:
            assert isinstance(part, Tree)
            found = PARTS[str(part.data)](found, part)
        return found


def _includes(parts: list[Node]) -> tuple[Include, ...]:
    found: list[Include] = []
    before = 0
    for part in parts:
        if part.data == "stage":
            before += len(trees(part, "step"))
        if part.data == "include":
            name = str(part.children[0])
            start = [str(c.children[0]) for c in trees(part, "start_at")]
            prefix = [str(c.children[0]) for c in trees(part, "prefix")]
            outcomes = tuple(Way(str(b.children[0]), str(b.children[1]), place=place_of(b))
                             for b in trees(part, "branch"))
            found.append(Include(name, start[0] if start else None, outcomes, before,
                                 place_of(part), prefix[0] if prefix else ""))
    return tuple(found)


def _limit(node: Node) -> Limit:
    name, value, unit, *_, source = node.children
    worked = [str(c) for w in trees(node, "worked") for c in w.children]
    figure, of = worked or ("", "")
    return Limit(str(name), Decimal(str(value)), unit_name(str(unit)), text_of(source),
                   place_of(node), figure, of)


def _criterion(node: Node) -> Criterion:
    name, document = str(node.children[0]), text_of(node.children[1])
    settings = tuple(
        Limit(str(s.children[0]), Decimal(str(s.children[1])), unit_name(str(s.children[2])),
                document, place_of(s))
        for s in trees(node, "setting")
    )
    return Criterion(name, document, settings, place_of(node))


def _caution(node: Node) -> Caution:
    name, text = str(node.children[0]), text_of(node.children[1])
    return Caution(name, text, len(node.children) > 2, place_of(node))


def _stage(node: Node) -> Stage:
    called = tuple(str(n) for c in trees(node, "called") for n in c.children)
    part_of = next((str(c.children[0]) for c in trees(node, "part_of")), "")
    again = next((str(c.children[0]) for c in trees(node, "again")), None)
    needs = tuple(bounded(c) for c in trees(node, "stage_needs"))
    counts_as = next((str(c.children[0]) for c in trees(node, "counts_as")), "")
    return Stage(str(node.children[0]), text_of(node.children[1]), place_of(node), called, part_of,
                 again, needs, counts_as)


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
