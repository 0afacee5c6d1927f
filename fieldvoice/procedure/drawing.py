"""The flow of a procedure as an SVG drawing: steps from top to bottom, jumps beside them."""

from __future__ import annotations

import textwrap
from dataclasses import dataclass
from html import escape

from fieldvoice.procedure.model import Procedure
from fieldvoice.procedure.sheet import condition, filled
from fieldvoice.procedure.step import Step

_ROW, _LEFT, _BOX = 46, 24, 560  # px: height of a row, margin, width of a step's box
_TALL = 30  # of a step's box
_TOP = 44  # the legend, and the first stage's title
_ARC = 9  # how far each further arc stands out
_NOTE = 340  # width of the notes on the right
_FITS = 88  # letters in a box


@dataclass(frozen=True)
class Jump:
    """A way that leads elsewhere than to the step below; rows of the drawing."""

    start: int
    end: int


def drawing(procedure: Procedure) -> str:
    """A complete SVG document: ways down run right of the steps, ways back up left of them."""
    row = {s.name: n for n, s in enumerate(procedure.steps)}
    jumps = sorted({
        (n, row[to]) for n, step in enumerate(procedure.steps)
        for _, to in _ways(procedure, step) if to is not None and row[to] != n + 1
    })
    lanes = _lanes([Jump(*ends) for ends in jumps])
    up = max((n for j, n in lanes.items() if j.end <= j.start), default=0)
    down = max((n for j, n in lanes.items() if j.end > j.start), default=0)
    left = _LEFT + _ARC * (1 + up)
    notes = left + _BOX + 24 + _ARC * down
    height = _TOP + _ROW * len(procedure.steps) + 20
    parts = [_step(n, s, procedure, left, notes) for n, s in enumerate(procedure.steps)]
    parts += [_arc(jump, lane, left) for jump, lane in lanes.items()]
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {notes + _NOTE} {height}"'
        f' width="{notes + _NOTE}" height="{height}" role="img" font-family="sans-serif"'
        f' font-size="12"><title>{escape(procedure.title)}</title>'
        '<defs><marker id="tip" viewBox="0 0 8 8" refX="8" refY="4" markerWidth="7"'
        ' markerHeight="7" orient="auto"><path d="M0 0 8 4 0 8z" fill="#555"/></marker></defs>'
        f'{_legend(left)}{"".join(parts)}</svg>\n'
    )


def _ways(procedure: Procedure, step: Step) -> list[tuple[str, str | None]]:
    found: list[tuple[str, str | None]] = [
        (way.name.replace("-", " "), procedure.destination(step, way.to)) for way in step.ways]
    found += [("outside the limit", n.otherwise) for n in step.needs if n.otherwise]
    if step.repeat:
        found.append(("again", step.repeat.start))
    if not (step.branches or step.choices or step.ending):
        found.append(("", procedure.destination(step, None)))
    elif step.when:
        found.append(("does not apply", procedure.destination(step, None)))
    return found


def _lanes(jumps: list[Jump]) -> dict[Jump, int]:
    """The nearest free lane for each arc on its side, the shortest arcs first."""
    lanes: dict[Jump, int] = {}
    for jump in sorted(jumps, key=lambda j: abs(j.end - j.start)):
        low, high = sorted((jump.start, jump.end))
        taken = {
            lanes[o] for o in lanes if (o.end > o.start) == (jump.end > jump.start)
            and min(o.start, o.end) <= high and max(o.start, o.end) >= low
        }
        lanes[jump] = next(n for n in range(len(jumps) + 1) if n not in taken)
    return lanes


def _step(row: int, step: Step, procedure: Procedure, left: int, notes: int) -> str:
    top = _TOP + row * _ROW
    fill = "#e3edf7" if step.hold or step.check else "#f4f4f4"
    edge = "#c2410c" if step.gate else "#555"
    say = filled(procedure, step.say)
    text = f"{step.name}: {say}"
    shown = text if len(text) <= _FITS else text[:_FITS - 1] + "…"
    below = procedure.below[step.name]
    leads_down = below is not None and below in [to for _, to in _ways(procedure, step)]
    down = (f'<path d="M{left + 40} {top + _TALL}v{_ROW - _TALL}" stroke="#555" fill="none"'
            ' marker-end="url(#tip)"/>') if leads_down else ""
    return (f"{_stage(row, procedure, left, top)}<g><title>{escape(say)}</title>"
            f'<rect x="{left}" y="{top}" width="{_BOX}" height="{_TALL}" rx="4" fill="{fill}"'
            f' stroke="{edge}" stroke-width="{1 + step.gate}"/>'
            f'<text x="{left + 8}" y="{top + 20}">{escape(shown)}</text>'
            f"{_note(step, procedure, top, notes)}{down}</g>")


def _legend(left: int) -> str:
    return (f'<text x="{left}" y="16" fill="#333" font-size="10">blue: a hold or a check; red edge:'
            " a gate, left undone only with a spoken reason; right: ways down; left: ways back"
            "</text>")


def _stage(row: int, procedure: Procedure, left: int, top: int) -> str:
    """The title of the stage, above the first of its steps."""
    steps = procedure.steps
    if row and steps[row - 1].stage == steps[row].stage:
        return ""
    title = escape(procedure.stages[steps[row].stage].title)
    return f'<text x="{left + 52}" y="{top - 4}" font-weight="bold" font-size="11">{title}</text>'


def _note(step: Step, procedure: Procedure, top: int, x: int) -> str:
    """Beside the lanes: which way leads where, or the ending."""
    named = [f"{label} → {to}" for label, to in _ways(procedure, step) if label]
    when = [f"only when {condition(procedure, w)}" for w in step.when]
    words = ", ".join([*when, *named, *([f"end: {step.ending.name}"] if step.ending else [])])
    lines = textwrap.wrap(words, 62)[:3]
    return "".join(
        f'<text x="{x}" y="{top + 12 + 12 * n}" fill="#333" font-size="10">{escape(line)}</text>'
        for n, line in enumerate(lines))


def _arc(jump: Jump, lane: int, left: int) -> str:
    start, end = (_TOP + n * _ROW + y for n, y in ((jump.start, 20), (jump.end, 10)))
    side, out = ((left + _BOX, left + _BOX + 12 + lane * _ARC) if jump.end > jump.start
                 else (left, left - 8 - lane * _ARC))
    return (f'<path d="M{side} {start}H{out}V{end}H{side}" stroke="#555" fill="none"'
            ' marker-end="url(#tip)"/>')
