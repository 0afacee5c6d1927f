"""What stands where on the screen: text in, lines out."""

from __future__ import annotations

import re
import textwrap
from collections.abc import Sequence
from dataclasses import dataclass, field

from fieldvoice.devices.screen.bigtype import GLYPHS, big

MARKS = {"caution": "CAUTION", "alert": "ALERT", "question": "?", "prompt": ">", "answer": "="}


@dataclass
class View:
    """What stands on the screen now."""

    title: str = ""
    task: str = ""  # what the open step asks for; stays while other things are answered
    heard: str = ""
    replies: list[tuple[str, str]] = field(default_factory=list)  # text and tone, oldest first
    timers: Sequence[tuple[str, float]] = ()  # label and seconds left
    figure: str = ""  # the last value, drawn large
    figure_label: str = ""
    notices: Sequence[str] = ()


def layout(view: View, width: int, height: int) -> list[tuple[str, str]]:
    """The screen as exactly `height` lines of text and tone, at most `width` wide.

    From above: title, what was heard, the newest replies, what the step asks for unless a reply
    just said it, and at the foot the large figures. When it gets tight the oldest replies go
    first, then the figures.
    """
    head = [(view.title, "heard"), ("", ""), *_wrapped(f"heard:  {view.heard}", "heard", width)]
    task = _task(view, width)
    foot = _figures(view, width)
    for notice in view.notices:
        foot += _wrapped(notice, "notice", width)
    if len(head) + len(foot) + len(task) + 4 > height:
        foot = [(clock_line(view.timers), "answer")]
    room = max(height - len(head) - len(foot), 0)
    body = _body(view.replies, width, max(room - len(task), 0)) + task
    lines = [*head, *body, *[("", "")] * (room - len(body)), *foot]
    return [(text[:width], tone) for text, tone in lines[:height]]


def _task(view: View, width: int) -> list[tuple[str, str]]:
    """The open step's prompt, unless it stands among the replies already."""
    told = any(view.task in text for text, _ in view.replies)
    return [] if told or not view.task else [("", ""), *_wrapped(view.task, "prompt", width)]


def _body(replies: Sequence[tuple[str, str]], width: int, room: int) -> list[tuple[str, str]]:
    """The newest replies that fit, each with a blank line before it."""
    kept: list[tuple[str, str]] = []
    for text, tone in reversed(replies):
        mark = f"{MARKS[tone]}: " if tone in {"caution", "alert"} else ""
        lines = [("", ""), *_wrapped(f"{mark}{text}", tone, width)]
        if kept and len(kept) + len(lines) > room:
            break
        kept = lines + kept
    return kept[:room]


def _figures(view: View, width: int) -> list[tuple[str, str]]:
    """The last value, and beside it what is left of the timer that ends first, five lines high."""
    columns = []
    if view.figure and not set(view.figure) - set(GLYPHS):
        columns.append([view.figure_label, "", *big(view.figure)])
    if view.timers:
        label, left = min(view.timers, key=lambda timer: timer[1])
        columns.append([f"{label}: left", "", *big(clock_face(left))])
    if not columns:
        return []
    wide = max(len(line) for column in columns for line in column) + 6
    rows = [
        "".join(f"{cell:<{wide}}" for cell in row).rstrip() for row in zip(*columns, strict=True)
    ]
    drawn = [("", ""), *((f"  {row}"[:width], "prompt") for row in rows)]
    return [*drawn, (clock_line(view.timers), "answer")] if len(view.timers) > 1 else drawn


def clock_face(seconds: float) -> str:
    """9:05, 59:59, 1:00:00; what is over is 0:00. Part seconds count as whole ones still left."""
    whole = max(0, -int(-seconds // 1))
    minutes, second = divmod(whole, 60)
    hours, minute = divmod(minutes, 60)
    return f"{hours}:{minute:02}:{second:02}" if hours else f"{minute}:{second:02}"


def clock_line(timers: Sequence[tuple[str, float]]) -> str:
    """All timers on one line, the one that ends first in front."""
    ordered = sorted(timers, key=lambda timer: timer[1])
    return "   ".join(f"{label} {clock_face(left)} left" for label, left in ordered)


def figures_of(text: str) -> str:
    """The digits, sign and point of a text such as '1,412 microns'; '' when it has none."""
    found = re.search(r"-?\d[\d,]*(\.\d+)?", text)
    return found[0].replace(",", "") if found else ""


def _wrapped(text: str, tone: str, width: int) -> list[tuple[str, str]]:
    lines = (textwrap.wrap(line, max(width - 2, 10)) or [""] for line in text.split("\n"))
    return [(line, tone) for wrapped in lines for line in wrapped]
