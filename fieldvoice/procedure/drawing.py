"""The flow of a procedure as an SVG drawing: steps from top to bottom, their ways beside them.

A way that leads elsewhere than to the step below ends at the number of its step, as flow charts do
where a line would cross the page (ISO 5807 calls it a connector; the symbols here are its own).
"""

from __future__ import annotations

import textwrap
from collections.abc import Iterator
from dataclasses import dataclass
from html import escape

from fieldvoice.procedure.model import Procedure
from fieldvoice.procedure.sheet import condition, filled
from fieldvoice.procedure.step import Step

WIDTH = 860  # px: a page across, at a size that is read
_LEFT, _BOX = 12, 500  # margin, and width of a step's box
_POINT = 20  # how far the ends of a question stand out
_TOP = 62  # the title and the legend
_LINE = 16  # height of a line of text
_PAD = 10  # above and below the text of a box
_GAP = 26  # between two boxes: the arrow down, and the name of its way
_STAGE = 30  # above the first step of a stage
_ARROW = 132  # length of the arrow to a connector, with its name above it
_WAY = 30  # height of a way
_LINK = ' fill="#14507a"'
_ACROSS = 70  # letters in a line of a box


@dataclass(frozen=True)
class _Row:
    """A step with its place."""

    number: int  # from 1
    step: Step
    lines: tuple[str, ...]  # the first is its name
    ways: tuple[tuple[str, str], ...]  # (name, step) of those that do not lead to the step below
    below: str | None  # name of the way to the step below, "" for the plain one; None: none leads
    top: int
    stage: str  # title above it

    @property
    def tall(self) -> int:
        return max(len(self.lines) * _LINE + 2 * _PAD, len(self.ways) * _WAY)


def drawing(procedure: Procedure) -> str:
    """A complete SVG document, as wide as a page and as long as the procedure asks for."""
    rows = list(_rows(procedure))
    numbers = {row.step.name: row.number for row in rows}
    height = rows[-1].top + rows[-1].tall + 16 if rows else _TOP
    parts = [_row(row, numbers) for row in rows]
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH} {height}"'
        f' width="{WIDTH}" height="{height}" role="img" font-family="sans-serif"'
        f' font-size="13" style="background:#fff"><title>{escape(procedure.title)}</title>'
        '<defs><marker id="tip" viewBox="0 0 8 8" refX="8" refY="4" markerWidth="7"'
        ' markerHeight="7" orient="auto"><path d="M0 0 8 4 0 8z" fill="#444"/></marker></defs>'
        f"{_head(procedure)}{''.join(parts)}</svg>\n"
    )


def _rows(procedure: Procedure) -> Iterator[_Row]:
    top, stage = _TOP, ""
    for number, step in enumerate(procedure.steps, 1):
        title = procedure.stages[step.stage].title if step.stage != stage else ""
        stage = step.stage
        top += _STAGE if title else 0
        below = procedure.below[step.name]
        leads = _ways(procedure, step)
        down = leads.pop(below, None) if below is not None else None
        ways = tuple((", ".join(filter(None, names)), to) for to, names in leads.items())
        row = _Row(number, step, tuple(_lines(procedure, number, step)), ways,
                   None if down is None else ", ".join(filter(None, down)), top, title)
        yield row
        top += row.tall + _GAP


def _lines(procedure: Procedure, number: int, step: Step) -> Iterator[str]:
    yield f"{number}  {step.name.replace('-', ' ')}"
    yield from textwrap.wrap(filled(procedure, step.say), _ACROSS)
    for when in step.when:
        yield from textwrap.wrap(f"only when {condition(procedure, when)}", _ACROSS)
    if step.ending:
        yield f"end: {step.ending.name.replace('-', ' ')}"


def _ways(procedure: Procedure, step: Step) -> dict[str, list[str]]:
    """Where a step leads -> the names of the ways there; "" is the plain way on."""
    found: list[tuple[str, str | None]] = [
        (way.name.replace("-", " "), procedure.destination(step, way.to)) for way in step.ways]
    found += [("outside the limit", n.otherwise) for n in step.needs if n.otherwise]
    if step.repeat:
        found.append(("again", step.repeat.start))
    if not (step.branches or step.choices or step.ending):
        found.append(("", procedure.destination(step, None)))
    elif step.when:
        found.append(("does not apply", procedure.destination(step, None)))
    leads: dict[str, list[str]] = {}
    for name, to in found:
        if to is not None and name not in leads.setdefault(to, []):
            leads[to].append(name)
    return leads


def _row(row: _Row, numbers: dict[str, int]) -> str:
    stage = _text(_LEFT, row.top - 11, row.stage, ' font-weight="bold" font-size="15"')
    first = row.top + (row.tall - len(row.lines) * _LINE) // 2 + 12
    inside = _LEFT + _POINT + 4
    lines = "".join(
        _text(inside, first + n * _LINE, line, ' font-weight="bold"' if n == 0 else "")
        for n, line in enumerate(row.lines))
    space = row.tall / max(len(row.ways), 1)
    ways = "".join(_way(row.top + round(space * (n + 0.5)), name, to, numbers[to], row.number)
                   for n, (name, to) in enumerate(row.ways))
    return (f'{stage if row.stage else ""}<g class="step" id="step-{row.number}">'
            f"<title>{escape(row.lines[0])}</title>"
            f"{_shape(row)}{lines}{_down(row)}{ways}</g>")


def _shape(row: _Row) -> str:
    """A question has pointed ends, an ending round ones, all else is a box."""
    step = row.step
    kind = ("question" if step.choices or step.branches else "end" if step.ending
            else "hold" if step.hold or step.check else "do")
    return _outline(kind, _LEFT, row.top, _BOX, row.tall, gate=step.gate)


def _outline(kind: str, x: int, y: int, wide: int, tall: int, *, gate: bool = False) -> str:
    fill = {"question": "#fff6dd", "hold": "#e3edf7", "end": "#e6f2e6", "do": "#f4f4f4"}[kind]
    style = (f'fill="{fill}" stroke="{"#c2410c" if gate else "#444"}"'
             f' stroke-width="{2 if gate else 1}"')
    if kind == "question":
        out, middle = min(_POINT, tall // 2), y + tall / 2
        points = (f"{x},{middle} {x + out},{y} {x + wide - out},{y} {x + wide},{middle} "
                  f"{x + wide - out},{y + tall} {x + out},{y + tall}")
        return f'<polygon class="question" points="{points}" {style}/>'
    round_by = min(tall // 2, 22) if kind == "end" else 4
    box = f'<rect x="{x}" y="{y}" width="{wide}" height="{tall}" rx="{round_by}" {style}/>'
    bars = f'<path d="M{x + 7} {y}v{tall}M{x + wide - 7} {y}v{tall}" stroke="#444"/>'
    return box + (bars if kind == "hold" else "")


def _down(row: _Row) -> str:
    if row.below is None:
        return ""
    start, x = row.top + row.tall, _LEFT + 40
    return f"{_arrow(f'M{x} {start}v{_GAP}')}{_text(x + 8, start + 17, row.below)}"


def _way(y: int, name: str, to: str, number: int, origin: int) -> str:
    """An arrow with its name above it, to the number of the step that it leads to."""
    start = _LEFT + _BOX
    target = start + _ARROW
    turn = "↑" if number <= origin else "↓"
    shown = textwrap.shorten(f"{number} {to.replace('-', ' ')}", 27, placeholder="…")
    small = ' font-size="12"' if len(name) <= 20 else ' font-size="10"'
    return (f"{_arrow(f'M{start} {y}H{target}')}"
            f"{_text(start + 6, y - 4, name, small)}"
            f'<a href="#step-{number}"><title>{escape(to)}</title>'
            f"{_text(target + 5, y + 5, f'{turn} {shown}', _LINK)}</a>")


def _arrow(path: str) -> str:
    return f'<path d="{path}" stroke="#444" fill="none" marker-end="url(#tip)"/>'


def _text(x: int, y: int, text: str, more: str = "") -> str:
    return f'<text x="{x}" y="{y}"{more}>{escape(text)}</text>' if text else ""


def _head(procedure: Procedure) -> str:
    """The title, and what each shape is."""
    parts = [_text(_LEFT, 22, procedure.title, ' font-weight="bold" font-size="18"')]
    x = _LEFT
    for kind, told in (("do", "a step"), ("question", "a question"),
                       ("hold", "a hold or a check"), ("end", "an end")):
        parts.append(_outline(kind, x, 34, 30, 16))
        parts.append(_text(x + 36, 47, told))
        x += 60 + 8 * len(told)
    parts.append(_outline("do", x, 34, 30, 16, gate=True))
    parts.append(_text(x + 36, 47, "left undone only with a reason"))
    return "".join(parts)
