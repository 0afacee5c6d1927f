"""What stands where on the screen: a moment of the job in, lines out."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from fieldvoice.devices.screen import parts
from fieldvoice.devices.screen.cells import Row, bare, beside, fitted, row_cells
from fieldvoice.devices.screen.large_figures import figure_lines, plain_figures
from fieldvoice.devices.screen.moment import Moment
from fieldvoice.devices.screen.plot import LEAST_HEIGHT, LEAST_WIDTH, plot_rows
from fieldvoice.devices.screen.printable import all_printable

LEAST_TALK = 4  # lines kept for the newest replies, as far as they need them
_WIDE, _WIDE_HEIGHT = 100, 24  # from here on the plot and the talk so far stand beside the step
_GAP, _PLOT_MOST = 3, 24
_HEAD = ("bar", "ears", "alarms")
_BODY = ("asks", "cautions", "more", "listed", "waits", "figures", "then", "others", "talk")
_FOOT = ("notices", "keys")
_FIRST = ("alarms", "asks", "figures", "talk", "bar", "ears", "waits", "notices")
# these only whole, once the figures can be large
_AFTER = ("cautions", "listed", "others", "then", "more", "keys")
_SPACED = ("asks", "figures", "talk", "then")  # a blank line above, where there is one to spare

Parts = dict[str, list[Row]]


def layout(moment: Moment, width: int, height: int) -> list[Row]:
    """The screen without the typed line: exactly `height` lines, at most `width` columns wide.

    When it gets tight the figures become smaller, then plain, and what is less needed goes.
    """
    moment = _printable(moment)
    if moment.back:
        rows = _turned_back(moment, width, height)
    elif width >= _WIDE and height >= _WIDE_HEIGHT:
        rows = _side_by_side(moment, width, height)
    else:
        rows = _column(moment, (*_HEAD, *_BODY), _FOOT, width, height)
    rows = [[(text.replace("\n", " "), tone) for text, tone in row] for row in rows]
    return [bare(fitted(row, width) if row_cells(row) > width else row) for row in rows]


def _printable(moment: Moment) -> Moment:
    """All but the talk, of which only the newest is needed: whoever draws that sees to it."""
    view, devices, notices = all_printable(
        (moment.view, moment.devices, moment.notices), plain=moment.plain)
    return replace(moment, view=view, devices=devices, notices=notices)


def most_pages(moment: Moment, width: int, height: int) -> int:
    """How many pages the talk can be turned back."""
    moment = _printable(moment)
    room = height - len(_head_turned(moment, width)) - 1
    return max(0, -(-len(parts.history(moment, width)) // max(room, 1)) - 1)


def _column(
    moment: Moment, body: Sequence[str], foot: Sequence[str], width: int, height: int,
    *, plot: bool = True,
) -> list[Row]:
    """Parts one below the other, the foot at the foot."""
    found = parts.smallest(moment, width)
    found["talk"] = parts.newest(moment, width, LEAST_TALK)
    names = (*body, *foot)
    kept, left = _shared_out(found, names, height)
    if "figures" in body:
        once = len(figure_lines(moment.view, width, left + len(kept["figures"]), largest=1,
                                plain=moment.plain))  # fmt: skip
        spared = max(0, once - len(kept["figures"]))
        left = spared + _after(kept, found, names, left - spared)
        left = _enlarge(kept, moment, width, left, plot=plot)
    else:
        left = _after(kept, found, names, left)
    spaced = [name for name in _SPACED if name in body and kept[name]][: max(left, 0)]
    left -= len(spaced)
    if left > 0:
        talk = parts.newest(moment, width, len(kept["talk"]) + left)
        kept["talk"], left = talk, left - (len(talk) - len(kept["talk"]))
    if left > LEAST_HEIGHT and plot and not _has_plot(kept["figures"]) and moment.view.plot:
        drawn = plot_rows(moment.view.plot, width, min(left - 1, _PLOT_MOST), plain=moment.plain)
        kept["figures"] = [*kept["figures"], [], *drawn]
    above: list[Row] = []
    for name in body:
        above += [*([[]] if name in spaced else []), *kept[name]]
    below = [row for name in foot for row in kept[name]]
    above = above[: max(height - len(below), 0)]
    return [*above, *[[]] * (height - len(above) - len(below)), *below][:height]


def _shared_out(found: Parts, names: Sequence[str], height: int) -> tuple[Parts, int]:
    """Each part in its smallest form, those that matter most first, and how many lines are left."""
    kept: Parts = {name: [] for name in found}
    left = height
    for name in _FIRST:
        if name in names:
            kept[name] = found[name][: max(left, 0)]
            left -= len(kept[name])
    return kept, left


def _after(kept: Parts, found: Parts, names: Sequence[str], left: int) -> int:
    """The parts that can be done without, as far as there is room; what is left then."""
    for name in _AFTER:
        if name in names and len(found[name]) <= left:
            kept[name] = found[name]
            left -= len(kept[name])
    return left


def _enlarge(kept: Parts, moment: Moment, width: int, left: int, *, plot: bool) -> int:
    """The figures as large as the lines left allow, the plot beside them; what is left then."""
    view, now = moment.view, kept["figures"]
    largest = 1 if plot and view.plot and width < _WIDE else 3  # the plot needs its room, too
    lines = figure_lines(view, width, left + len(now), largest=largest, plain=moment.plain)
    if not lines or len(lines) > left + len(now):
        return left
    rows: list[Row] = [[(line, "figure")] for line in lines]
    wide = max(map(row_cells, rows))
    room = width - wide - _GAP
    if plot and view.plot and room >= LEAST_WIDTH and len(rows) >= LEAST_HEIGHT - 1:
        drawn = plot_rows(view.plot, room, min(max(len(rows), 9), left + len(now)),
                          plain=moment.plain)  # fmt: skip
        rows = beside(rows, drawn, wide, _GAP) if drawn else rows
    kept["figures"] = rows
    return left - (len(rows) - len(now))


def _has_plot(rows: Sequence[Row]) -> bool:
    return any(len(row) > 1 for row in rows)


def _side_by_side(moment: Moment, width: int, height: int) -> list[Row]:
    """Below the head the step at the left; its plot and the talk so far at the right."""
    found = parts.smallest(moment, width)
    kept, left = _shared_out(found, (*_HEAD, *_FOOT), height)
    _after(kept, found, _FOOT, left)
    head = [row for name in _HEAD for row in kept[name]]
    foot = [row for name in _FOOT for row in kept[name]]
    room = height - len(head) - len(foot)
    if room < LEAST_HEIGHT:
        return _column(moment, (*_HEAD, *_BODY), _FOOT, width, height)
    at_left = max((width - _GAP) * 52 // 100, min((width - _GAP) * 3 // 5, 68))
    body = _column(moment, _BODY, (), at_left, room, plot=False)
    right = _right(moment, width - _GAP - at_left, room)
    return [*head, *beside(body, right, at_left, _GAP), *foot]


def _right(moment: Moment, width: int, height: int) -> list[Row]:
    plot: list[Row] = []
    if moment.view.plot:
        plot = [[], *plot_rows(moment.view.plot, width, min(height * 3 // 5, _PLOT_MOST),
                               plain=moment.plain)]  # fmt: skip
    room = height - len(plot) - 2
    talk = parts.history(moment, width, room)
    return [*plot, [], [("Talk so far", "dim")], *talk]


def _head_turned(moment: Moment, width: int) -> list[Row]:
    found = parts.smallest(moment, width)
    figures: list[Row] = [[(line, "figure")] for line in plain_figures(moment.view, width)]
    page = f"Talk so far, {moment.back} back. Page Down comes back."
    return [*found["bar"], *found["alarms"], *figures, [(page, "bar")]]


def _turned_back(moment: Moment, width: int, height: int) -> list[Row]:
    """The talk so far by pages; the figures stay, in plain."""
    head = _head_turned(moment, width)
    room = max(height - len(head) - 1, 1)
    rows = parts.history(moment, width, room * (moment.back + 1))
    page = rows[: len(rows) - room * moment.back][-room:]
    lines = [*head, *page]
    return [*lines, *[[]] * (height - len(lines))][:height]
