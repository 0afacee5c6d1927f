"""The picture of the screen for the README: `cd tests && python -m support.screen_picture`.

A shipped demo job by its words, stopped in its hold, drawn by the real layout. What is made of
blocks and dots is drawn as shapes, so that no font has to have them; the rest is text.
"""

from __future__ import annotations

from pathlib import Path
from xml.etree.ElementTree import Element, SubElement, indent, tostring

from fieldvoice.commands.wiring.find_procedure import find_text, load_named
from fieldvoice.commands.wiring.recorded_jobs import read_job, shipped_jobs
from fieldvoice.devices.screen import Devices
from fieldvoice.devices.screen.cells import Row, cells
from fieldvoice.devices.screen.layout import layout
from fieldvoice.devices.screen.moment import Moment
from support.screen_states import ShownJob

PICTURE = Path(__file__).resolve().parent.parent.parent / "recordings_demo" / "screen.svg"
JOB, WIDTH, HEIGHT = "bakery-unit-two", 80, 24
HELD = 4  # readings of the hold, before the picture is taken
_WIDE, _HIGH, _EDGE = 9.0, 19.0, 12.0  # of a character, around all, in pixels
_PAPER, _INK = "#10171d", "#d9e1e7"
_COLOURS = {
    "dim": "#8fa1ae", "caution": "#f2c14e", "alert": "#ff8a73", "question": "#6fd3e0",
    "notice": "#f2c14e", "limit": "#ff8a73", "fit": "#6fd3e0", "figure": "#ffffff",
    "became-accepted": "#8fd694", "became-asked-back": "#6fd3e0", "became-ignored": "#f2c14e",
    "became-refused": "#f2c14e",
}  # fmt: skip
_REVERSED = ("bar", "banner")
_BOLD = ("prompt", "caution", "alert", "question", "waits", "bar", "banner", "figure")
_SHAPES = frozenset("█●─│") | frozenset(map(chr, range(0x2800, 0x2900)))


def moment() -> Moment:
    """The job as its script has it, each line heard for sure."""
    job = read_job(next(folder for folder in shipped_jobs() if folder.name == JOB))
    bench = ShownJob(load_named(*find_text(job.procedure)), job.site, job.start)
    for line in job.lines:
        bench.wait(seconds=line.gap.total_seconds())
        if line.typed:
            bench.say(line.typed, after=0)
        elif line.text:
            bench.say(line.text, after=0, confidence=0.97)
        if len(bench.job.state.hold_readings()) == HELD:
            break
    bench.wait(seconds=14)
    return bench.moment(Devices("listening", 0.4, voice="silent"))


def picture() -> str:
    """The SVG."""
    rows = [*layout(moment(), WIDTH, HEIGHT - 1), [("> ", "")]]
    wide, high = WIDTH * _WIDE + 2 * _EDGE, HEIGHT * _HIGH + 2 * _EDGE
    svg = Element("svg", {
        "xmlns": "http://www.w3.org/2000/svg", "viewBox": f"0 0 {wide:g} {high:g}", "role": "img",
        "font-family": "ui-monospace, 'DejaVu Sans Mono', Menlo, Consolas, monospace",
        "font-size": "15", "fill": _INK,
    })  # fmt: skip
    SubElement(svg, "title").text = "The screen in a standing-vacuum test, 80 by 24 characters"
    SubElement(svg, "rect", {"width": "100%", "height": "100%", "rx": "8", "fill": _PAPER})
    for number, row in enumerate(rows):
        _draw_row(svg, row, number)
    indent(svg, " ")
    return tostring(svg, encoding="unicode") + "\n"


def _draw_row(svg: Element, row: Row, number: int) -> None:
    column = 0
    for text, tone in row:
        x, y, width = _EDGE + column * _WIDE, _EDGE + number * _HIGH, cells(text) * _WIDE
        colour = _COLOURS.get(tone, _INK)
        if tone in _REVERSED:
            SubElement(svg, "rect", _at(x=x, y=y, width=width, height=_HIGH) | {"fill": _INK})
            colour = _PAPER
        _draw_text(svg, text, x, y, {"fill": colour} | (
            {"font-weight": "bold"} if tone in _BOLD else {}))
        for run, start in _runs(text):
            _draw_shapes(svg, run, x + start * _WIDE, y, colour)
        column += cells(text)


def _draw_text(svg: Element, text: str, x: float, y: float, look: dict[str, str]) -> None:
    """Word groups between shapes and wide gaps, each held to its columns."""
    plain = "".join(" " if character in _SHAPES else character for character in text)
    place = 0
    for part in plain.split("  "):
        if words := part.strip():
            start = place + len(part) - len(part.lstrip())
            found = SubElement(svg, "text", _at(
                x=x + start * _WIDE, y=y + 0.75 * _HIGH, textLength=len(words) * _WIDE) | look)
            found.text = words
        place += len(part) + 2


def _runs(text: str) -> list[tuple[str, int]]:
    """Each shape with its column; blocks and lines beside each other as one."""
    found: list[tuple[str, int]] = []
    for column, character in enumerate(text):
        if character not in _SHAPES:
            continue
        last = found[-1] if found else ("", -1)
        if character in "█─" and last[0][:1] == character and last[1] + len(last[0]) == column:
            found[-1] = (last[0] + character, last[1])
        else:
            found.append((character, column))
    return found


def _draw_shapes(svg: Element, run: str, x: float, y: float, colour: str) -> None:
    fill, width = {"fill": colour}, len(run) * _WIDE
    if run[0] == "█":
        SubElement(svg, "rect", _at(x=x, y=y, width=width, height=_HIGH + 0.3) | fill)
    elif run[0] == "─":
        SubElement(svg, "rect", _at(x=x, y=y + _HIGH / 2, width=width, height=1.2) | fill)
    elif run[0] == "│":
        SubElement(svg, "rect", _at(x=x + _WIDE / 2, y=y, width=1.2, height=_HIGH + 0.3) | fill)
    elif run[0] == "●":
        SubElement(svg, "circle", _at(cx=x + _WIDE / 2, cy=y + _HIGH / 2, r=4) | fill)
    else:
        for bit in range(8):
            if ord(run[0]) - 0x2800 >> bit & 1:
                left, line = (bit // 3, bit % 3) if bit < 6 else (bit - 6, 3)
                SubElement(svg, "circle", _at(cx=x + (left + 0.5) * _WIDE / 2,
                                              cy=y + (line + 0.5) * _HIGH / 4, r=1.3) | fill)


def _at(**places: float) -> dict[str, str]:
    return {name: f"{round(place, 1):g}" for name, place in places.items()}


if __name__ == "__main__":
    PICTURE.write_text(picture(), encoding="utf-8")
    print(f"wrote {PICTURE}")
