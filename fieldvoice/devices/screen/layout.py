"""What stands where on the screen: text in, lines out."""

from __future__ import annotations

import textwrap
from collections.abc import Sequence

from fieldvoice.devices.screen.large_figures import figure_lines
from fieldvoice.devices.screen.view import View, heard_line

MARKS = {"caution": "CAUTION", "alert": "ALERT", "question": "?", "prompt": ">", "answer": "="}
Line = tuple[str, str]  # text and tone
_LEAST_BODY = 4  # lines kept for the newest replies, as far as they need them


def layout(
    view: View, replies: Sequence[Line], notices: Sequence[str], width: int, height: int
) -> list[Line]:
    """The screen as exactly `height` lines of text and tone, at most `width` wide.

    From above: title, banners, what was heard, the newest of the `replies` (oldest first), what
    the job waits for unless a reply just said it, and at the foot the large figures and the
    notices. When it gets tight the figures become smaller, then the oldest replies go.
    """
    head = _head(view, width)
    waits = _waits(view, replies, width)
    below = [line for notice in notices for line in _wrapped(notice, "notice", width)]
    kept = len(_newest(replies, width, _LEAST_BODY))
    room = height - len(head) - len(waits) - len(below) - kept
    foot = [*((line, "prompt") for line in figure_lines(view, width, room)), *below]
    room = max(height - len(head) - len(foot), 0)
    body = (_newest(replies, width, max(room - len(waits), 0)) + waits)[:room]
    lines = [*head, *body, *[("", "")] * (room - len(body)), *foot]
    return [(text[:width], tone) for text, tone in lines[:height]]


def _head(view: View, width: int) -> list[Line]:
    told = heard_line(view.heard, view.sure, view.outcome) if view.outcome else ""
    depth = f"  ({view.depth})" if view.depth else ""
    others = "".join(f"\n{other}" for other in view.others)
    return [*_wrapped(f"{view.title}{depth}{others}", "heard", width),
            *(line for text in view.banners for line in _wrapped(f"*** {text}", "banner", width)),
            *_wrapped(f"\nheard:  {told}", "heard", width)]


def _waits(view: View, replies: Sequence[Line], width: int) -> list[Line]:
    """The open question, the step's prompt and how the job ended, as far as not just told."""
    asked = any(tone == "question" for _, tone in replies)
    standing = [
        ("" if asked else view.question, "question"), (view.task, "prompt"),
        (view.listed, "answer"),
        (view.finished, "prompt"),
    ]  # fmt: skip
    untold = [(text, tone) for text, tone in standing
              if text and not any(text in said for said, _ in replies)]
    return [line for text, tone in untold for line in [("", ""), *_wrapped(text, tone, width)]]


def _newest(replies: Sequence[Line], width: int, room: int) -> list[Line]:
    """The newest replies that fit, each with a blank line before it."""
    kept: list[Line] = []
    for text, tone in reversed(replies):
        mark = f"{MARKS[tone]}: " if tone in {"caution", "alert"} else ""
        lines = [("", ""), *_wrapped(f"{mark}{text}", tone, width)]
        if kept and len(kept) + len(lines) > room:
            break
        kept = lines + kept
    return kept[:room]


def _wrapped(text: str, tone: str, width: int) -> list[Line]:
    lines = (textwrap.wrap(line, max(width - 2, 10)) or [""] for line in text.split("\n"))
    return [(line, tone) for wrapped in lines for line in wrapped]
