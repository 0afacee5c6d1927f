"""What a mutation run changes: one place of a source or data file at a time, chosen by a seed.

Python by the operators of cosmic-ray (arithmetic, comparisons, and/or, not, True and False, loops,
exceptions) and two of ours: a number doubled or halved, a result that is a constant. TOML: a number
doubled, halved or ten times as big, a word exchanged for another of the same key. CSV: a cell 5 %
higher.
"""

from __future__ import annotations

import random
import re
from collections import defaultdict
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from typing import Any

import parso
from cosmic_ray.ast import ast_nodes, get_ast
from cosmic_ray.mutating import mutate_code
from cosmic_ray.operators.operator import Operator
from cosmic_ray.plugins import get_operator, operator_names

# Bits and shifts of a number do not occur, and `x is 3` or `x % y` for any other sign dies at once
# of its type: such mutants would flatter the score.
_TAKEN = re.compile(
    r"core/(ReplaceBinaryOperator_(Add|Sub|Mul|Div|Pow)_(Add|Sub|Mul|Div)"
    r"|ReplaceComparisonOperator_(Eq|NotEq|Lt|LtE|Gt|GtE)_(Eq|NotEq|Lt|LtE|Gt|GtE)"
    r"|ReplaceComparisonOperator_(Is_IsNot|IsNot_Is)|ReplaceUnaryOperator_(USub_UAdd|Delete_Not)"
    r"|AddNot|Replace(And|Or|True|False)With\w+|Replace(Break|Continue)With\w+"
    r"|ZeroIterationForLoop|ExceptionReplacer)$"
)


@dataclass(frozen=True)
class Mutant:
    """A changed text of a file: the line (from 1) and what was done there."""

    line: int
    what: str
    text: str


class NumberScaled(Operator):
    """A number twice as big, or half."""

    def mutation_positions(self, node: Any) -> Iterator[tuple[Any, Any]]:
        if node.type == "number":
            yield from [(node.start_pos, node.end_pos)] * 2

    def mutate(self, node: Any, index: int) -> Any:
        return parso.python.tree.Number(_scaled(node.value, index), node.start_pos, node.prefix)

    @classmethod
    def examples(cls) -> tuple[()]:
        return ()


class ResultConstant(Operator):
    """A function that returns a constant: 0.5 where a float is promised, None elsewhere."""

    def mutation_positions(self, node: Any) -> Iterator[tuple[Any, Any]]:
        if node.type == "return_stmt" and len(node.children) > 1:
            yield node.start_pos, node.end_pos

    def mutate(self, node: Any, index: int) -> Any:
        function = node
        while function.type != "funcdef":
            function = function.parent
        promised = function.annotation.get_code().strip() if function.annotation else ""
        new = parso.parse("return 0.5" if promised == "float" else "return None").children[0]
        new.get_first_leaf().prefix = node.get_first_leaf().prefix
        return new

    @classmethod
    def examples(cls) -> tuple[()]:
        return ()


def mutants(name: str, text: str, seed: int) -> list[Mutant]:
    """One mutant of each place in the file that can be changed, in an order drawn by the seed."""
    draw = random.Random(f"{seed} {name}")
    places = _KINDS[name[name.rindex(".") :]](text)
    found = []
    for line, ways in sorted(places.items()):
        what, changed = draw.choice(ways)
        new = changed()
        if new is not None and new != text:
            found.append(Mutant(line[0], what, new))
    draw.shuffle(found)
    return found


Places = dict[tuple[int, int], list[tuple[str, Callable[[], str | None]]]]


def _python(text: str) -> Places:
    places: Places = defaultdict(list)
    tree = get_ast(text)
    operators = {n: get_operator(n)() for n in sorted(operator_names()) if _TAKEN.match(n)}
    operators |= {"NumberScaled": NumberScaled(), "ResultConstant": ResultConstant()}
    for name, operator in operators.items():
        spots = [(node, spot) for node in ast_nodes(tree)
                 for spot in operator.mutation_positions(node)]
        for occurrence, (node, (start, _)) in enumerate(spots):
            if _in_decorator(node):  # whether a dataclass is frozen is no arithmetic
                continue
            places[start].append((
                name.removeprefix("core/"),
                lambda o=operator, n=occurrence: mutate_code(text, o, n),
            ))
    return places


def _in_decorator(node: Any) -> bool:
    while node is not None and node.type != "decorator":
        node = node.parent
    return node is not None


def _toml(text: str) -> Places:
    places: Places = {}
    lines = text.splitlines(keepends=True)
    rows = [(i, m) for i, line in enumerate(lines)
            if (m := re.match(r"""(\w+) *= *(?:(['"])(.*?)\2|([-\d.]+))""", line))]
    for i, row in rows:
        key, _, word, number = row.groups()
        if number is None:
            others = sorted({m[3] for _, m in rows if m[1] == key and m[3] not in (None, word)})
            new = others
        else:
            new = [_scaled(number, 0), _scaled(number, 1), f"{float(number) * 10:g}"]
        if new:
            places[i + 1, 0] = [
                (f"{key} = {value}", lambda i=i, row=row, value=value: "".join(
                    [*lines[:i], _put(lines[i], row, value), *lines[i + 1 :]]))
                for value in new]
    return places


def _put(line: str, row: re.Match[str], value: str) -> str:
    start, end = row.span(3 if row[3] is not None else 4)
    return line[:start] + value + line[end:]


def _csv(text: str) -> Places:
    lines = text.splitlines(keepends=True)
    places: Places = {}
    for i, line in enumerate(lines):
        cells = line.rstrip("\n").split(",")
        for j, cell in enumerate(cells[2:], 2):
            if re.fullmatch(r"-?\d+(\.\d+)?(e[-+]?\d+)?", cell):
                new = ",".join([*cells[:j], f"{float(cell) * 1.05:.7g}", *cells[j + 1 :]]) + "\n"
                places[i + 1, j] = [(f"{cell} 5 % higher", lambda i=i, new=new: "".join(
                    [*lines[:i], new, *lines[i + 1 :]]))]
    return places


def _scaled(number: str, halved: int) -> str:
    """A number as text, doubled or halved; nothing becomes 1."""
    value = eval(number)
    if not value:
        return "1"
    if isinstance(value, int):
        return str(value // 2 if halved else value * 2)
    return repr(value / 2 if halved else value * 2)


_KINDS: dict[str, Callable[[str], Places]] = {".py": _python, ".toml": _toml, ".csv": _csv}
