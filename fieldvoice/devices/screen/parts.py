"""The parts of the screen, each as the lines that it needs at least."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import takewhile

from fieldvoice.devices.screen.cells import Row, cells, cut, wrapped
from fieldvoice.devices.screen.large_figures import plain_figures
from fieldvoice.devices.screen.moment import Moment
from fieldvoice.devices.screen.printable import all_printable
from fieldvoice.devices.screen.view import Said, View, became_line

MARKS = {"caution": "CAUTION", "alert": "ALERT", "question": "?", "prompt": ">", "answer": "="}
_LEVELS = 8  # marks of the level meter
_BANNER, _ASKS, _HEARD = 4, 8, 3  # lines that each may take

# state of the ears -> shape and words; none is told by colour alone
_EARS = {
    "listening": ("(o)", "LISTENING"),
    "deaf": ("(-)", "DEAF while speaking"),
    "standing by": ("(~)", "STANDING BY"),
    "noting": ("(#)", "NOTING"),
    "push-to-talk": ("(=)", "PUSH TO TALK: F5"),
    "silent": ("(.)", "SILENT: microphone muted?"),
    "lost": ("(!)", "MICROPHONE LOST"),
    "off": ("( )", "NO MICROPHONE: type"),
}
_VOICE = {"speaking": "voice speaking", "silent": "", "off": "voice off", "lost": "NO LOUDSPEAKER"}


def smallest(moment: Moment, width: int) -> dict[str, list[Row]]:
    """Every part but the talk."""
    view = moment.view
    return {
        "bar": _bar(view, width),
        "ears": _ears(moment, width),
        "alarms": [row for text in view.banners
                   for row in _text(f"*** {text}", "banner", width, _BANNER)],
        "asks": _asks(view, width),
        "cautions": [row for text in view.cautions
                     for row in _text(f"{MARKS['caution']}: {text}", "caution", width)],
        "more": _text(view.more, "answer", width),
        "listed": _text(view.listed, "answer", width),
        "waits": _text(f"-> {view.waits}" if view.waits else "", "waits", width),
        "figures": [[(line, "figure")] for line in plain_figures(view, width)],
        "then": [[(_shortened(view.then, width), "dim")]] if view.then else [],
        "others": [row for other in view.others for row in _text(other, "dim", width)],
        "notices": [row for text in moment.notices for row in _text(text, "notice", width)],
        "keys": _keys(moment, width),
        "talk": [],
    }


def _text(text: str, tone: str, width: int, most: int | None = None) -> list[Row]:
    """Its lines; of more than `most` the last one shown says so."""
    lines = wrapped(text, width) if text else []
    if most is not None and len(lines) > most:
        lines = [*lines[: most - 1], f"{cut(lines[most - 1], width - 4).rstrip()} ..."]
    return [[(line, tone)] for line in lines]


def _shortened(text: str, width: int) -> str:
    """Its beginning; what is left out is told by three dots."""
    return text if cells(text) <= width else f"{cut(text, width - 4).rstrip()} ..."


def _bar(view: View, width: int) -> list[Row]:
    """Unit and stage, with the step where it fits."""
    depth = f"  ({view.depth})" if view.depth else ""
    title = f"{view.title}{depth}"
    step = f"  step {view.step}" if view.step else ""
    lines = wrapped(title + step if cells(title + step) <= width else title, width)
    return [[(f"{line}{' ' * (width - cells(line))}", "bar")] for line in lines if view.title]


def _ears(moment: Moment, width: int) -> list[Row]:
    """State of microphone and voice, how loud it is, the words so far."""
    devices = moment.devices
    shape, words = _EARS.get(_ear_state(moment), ("(?)", devices.microphone))
    meter = _meter(devices.level, plain=moment.plain)
    told = [
        f"{shape} {words}",
        "TOO LOUD: move away" if devices.clipping else "",
        _VOICE.get(devices.voice, devices.voice),
        meter if devices.microphone in ("listening", "push-to-talk") else "",
        f'hearing "{devices.hearing}"' if devices.hearing else "",
    ]
    lines = [""]
    for part in filter(None, told):
        longer = f"{lines[-1]}  {part}" if lines[-1] else part
        lines = [*lines[:-1], longer] if cells(longer) <= width else [*lines, part]
    return [[(_shortened(line, width), "ears")] for line in lines[:2]]


def _meter(level: float, *, plain: bool) -> str:
    full = round(max(0.0, min(level, 1.0)) * _LEVELS)
    ink, gap = ("#", ".") if plain else ("█", "·")
    return f"[{ink * full}{gap * (_LEVELS - full)}]"


def _ear_state(moment: Moment) -> str:
    if moment.devices.microphone == "listening" and moment.view.standing_by:
        return "standing by"
    if moment.devices.microphone == "listening" and moment.view.open_note:
        return "noting"
    return moment.devices.microphone


def _asks(view: View, width: int) -> list[Row]:
    text = view.finished or view.task
    mark, tone = ("CAUTION: ", "caution") if view.caution else ("", "prompt")
    return _text(f"{mark}{text}" if text else "", tone, width, _ASKS)


def _keys(moment: Moment, width: int) -> list[Row]:
    """What the keys do, in words: as many as fit."""
    talk = ["F5 talk"] if moment.devices.microphone == "push-to-talk" else []
    named = ["F2 hush", "F3 next", "F4 say again", *talk, "PgUp talk so far", "Tab completes",
             "Ctrl-C leaves, the job is kept", "no F keys: Esc then h, n, a, t"]
    line = ""
    for name in named:
        longer = f"{line}   {name}" if line else name
        line = longer if cells(longer) <= width else line
    return [[(line, "dim")]]


def newest(moment: Moment, width: int, room: int) -> list[Row]:
    """The last line that came in and what was answered since, as many of the newest as fit.

    What stands elsewhere on the screen (the open question, the step) is left out.
    """
    view = moment.view
    heard: list[Row] = []
    if view.outcome:
        line = became_line(view.heard, view.sure, view.outcome)
        heard = _text(line, f"became-{view.outcome}", width, _HEARD)
    since = takewhile(lambda said: said.tone != "heard", reversed(moment.talk))
    rows: list[Row] = []
    for said in since:
        said = all_printable(said, plain=moment.plain)
        if _stands(said, view):
            continue
        mark = f"{MARKS[said.tone]}: " if said.tone in ("caution", "alert") else ""
        lines = _text(f"{mark}{said.text}", said.tone, width)
        if rows and len(heard) + len(rows) + len(lines) > room:
            break
        rows = lines + rows
    return [*heard, *rows][: max(room, 0)]


def _stands(said: Said, view: View) -> bool:
    """Whether another part tells it already."""
    told = " ".join((view.title, view.task, view.waits, view.question, view.finished))
    if said.tone == "caution":
        return said.text.startswith((*([view.task] if view.caution else []), *view.cautions))
    first = said.text.split("\n")[0].rstrip(".")
    return said.tone in ("prompt", "question") and first in told


def history(moment: Moment, width: int, most: int | None = None) -> list[Row]:
    """The talk with its times, the newest at the foot; at most that many lines."""
    rows: list[Row] = []
    for said in reversed(moment.talk):
        rows = [*_spoken(all_printable(said, plain=moment.plain), width), *rows]
        if most is not None and len(rows) >= most:
            return rows[len(rows) - most :]
    return rows


def _spoken(said: Said, width: int) -> Iterator[Row]:
    """One part of the talk: its time in front, a mark for lines that came in."""
    told = said.text
    if said.tone == "heard":
        told = became_line(said.text, said.sure, said.outcome)
    elif said.tone in ("caution", "alert"):
        told = f"{MARKS[said.tone]}: {told}"
    tone = f"became-{said.outcome}" if said.tone == "heard" else said.tone
    head = f"{said.clock} " if width >= 20 else ""
    for line in wrapped(told, width - len(head)):
        yield [(head, "dim"), (line, tone)]
        head = " " * len(head)
