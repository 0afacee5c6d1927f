"""The screen: every state whole at every size, and plain lines where there is no terminal."""

import io
import re
from dataclasses import replace

import pytest

from fieldvoice.devices.screen import Devices, Plot, Said, View, clock_line, printable
from fieldvoice.devices.screen.bigtype import big, half
from fieldvoice.devices.screen.board import Board
from fieldvoice.devices.screen.cells import cells, cut, row_cells, wrapped
from fieldvoice.devices.screen.large_figures import figure_lines
from fieldvoice.devices.screen.layout import layout, most_pages
from fieldvoice.devices.screen.lines import LineScreen
from fieldvoice.devices.screen.moment import Moment
from fieldvoice.devices.screen.plot import plot_rows
from fieldvoice.devices.screen.printable import in_ascii
from fieldvoice.devices.screen.view import became_line, clock_face, heard_line
from support.screen_states import SIZES, STATES, moment_of
from support.terminal import stands_whole

FULL = View(
    title="Evacuate", task="Close it, then say start the hold.",
    heard="four hundred twelve microns", sure=0.93, outcome="accepted",
    timers=(("nitrogen", 1_900), ("hold", 586)), hold="hold",
    figure="412", figure_label="vacuum, microns",
)  # fmt: skip
TALK = (Said("09:14", "four hundred twelve microns", "heard", "accepted", 0.93),
        Said("09:14", "412 microns.", "answer"),
        Said("09:15", "Nitrogen is under pressure.", "caution"))  # fmt: skip
SMALL = [(60, 14), (40, 10), (30, 30), (20, 6), (200, 6), (21, 60)]
WORDS = {  # state -> what must be read on the screen, whatever its size
    "start": "CAUTION: Regulator", "waiting for a reading": "Pull down to 300",
    "pulling down": "520", "hold running": "DEAF", "question open": "QUESTION. 40,000",
    "standing by": "STANDING BY", "note open": "NOTING. Say end note", "two units": "Unit two",
    "over the plate": "OVER THE PLATE. Let it down now", "finished": "The job is finished",
    "microphone lost": "MICROPHONE LOST", "practice": "PRACTICE. Simulated time",
    "too loud": "TOO LOUD: move away",
}  # fmt: skip


def text_of(moment: Moment, width: int, height: int) -> list[str]:
    return ["".join(text for text, _ in row) for row in layout(moment, width, height)]


def told(view: View, width: int, height: int, **more: object) -> list[str]:
    return text_of(replace(Moment(view, talk=TALK), **more), width, height)


def flat(lines: list[str]) -> str:
    return re.sub(r"\s+", " ", " ".join(lines))


def figures_of(view: View) -> list[str]:
    return [view.figure, *(clock_face(seconds) for _, seconds in view.timers)]


def test_a_microphone_that_gives_nothing_is_told_from_one_that_hears_nothing() -> None:
    shown = [told(View(), 80, 24, devices=Devices(state)) for state in ("listening", "silent")]
    assert "SILENT: microphone muted?" in flat(shown[1])
    assert "LISTENING" not in flat(shown[1])
    assert "SILENT" not in flat(shown[0])


@pytest.mark.parametrize("state", STATES)
@pytest.mark.parametrize(("width", "height"), [*SIZES, *SMALL])
@pytest.mark.parametrize("plain", [False, True])
def test_every_state_fills_every_size_exactly_and_cuts_no_figure(
    state: str, width: int, height: int, plain: bool
) -> None:
    moment = replace(moment_of(state), plain=plain)
    rows = layout(moment, width, height - 1)
    lines = ["".join(text for text, _ in row) for row in rows]
    assert len(rows) == height - 1
    assert all(row_cells(row) <= width for row in rows)
    assert all(line.isprintable() for line in lines)
    assert not plain or all(line.isascii() for line in lines)
    if (width, height) in SIZES:
        for figures in filter(None, figures_of(moment.view)):
            assert stands_whole(figures, lines), figures


@pytest.mark.parametrize("state", STATES)
@pytest.mark.parametrize(("width", "height"), SIZES)
def test_each_state_is_told_in_words_with_step_line_and_microphone(
    state: str, width: int, height: int
) -> None:
    moment = moment_of(state)
    text = flat(text_of(moment, width, height - 1))
    view = moment.view
    assert WORDS[state] in text
    assert view.title in text
    assert flat([view.finished or view.task])[:14] in text
    assert not view.outcome or became_line(view.heard, None, view.outcome)[:14] in text
    assert re.search(r"\([o~#!=\- ]\) [A-Z ]{4,}", text)


def test_the_states_differ_without_colour() -> None:
    heads = {state: tuple(text_of(moment_of(state), 80, 23)[1:3]) for state in STATES}
    for one, other in (("standing by", "note open"), ("hold running", "practice"),
                       ("microphone lost", "pulling down"), ("over the plate", "question open")):
        assert heads[one] != heads[other]


@pytest.mark.parametrize("figure", ["412", "1412", "-5.25", "40000"])
@pytest.mark.parametrize("seconds", [586, 1_190, 35_999])
@pytest.mark.parametrize(("width", "height"), [(80, 24), (60, 14), (40, 24), (40, 20), (40, 12),
                                               (30, 30), (24, 10), (120, 40), (200, 60)])
def test_no_figure_is_ever_cut(width: int, height: int, figure: str, seconds: int) -> None:
    view = replace(FULL, figure=figure, timers=(("hold", seconds), ("nitrogen", 40_000)))
    lines = told(view, width, height)
    for figures in (figure, clock_face(seconds), clock_face(40_000)):
        assert stands_whole(figures, lines), figures


def test_at_forty_columns_the_countdown_is_large_and_whole() -> None:
    large = [text for text in told(FULL, 40, 19) if "█" in text]
    for row, value, left in zip(large, big("412", 1), big("9:46", 1), strict=True):
        assert row.strip().startswith(value.strip())
        assert row.endswith(left)


@pytest.mark.parametrize(("width", "height", "rows"), [(80, 24, 10), (120, 40, 10), (200, 60, 15)])
def test_figures_grow_with_the_screen(width: int, height: int, rows: int) -> None:
    assert len([text for text in told(FULL, width, height) if "██" in text]) == rows


@pytest.mark.parametrize(
    ("width", "height", "lines", "large"),
    [
        (60, 30, 7, 5),  # side by side, with the other timer below
        (40, 30, 7, 5),  # closer together
        (30, 30, 14, 10),  # one above the other
        (60, 5, 5, 3),  # in half blocks, three lines high
        (30, 11, 8, 5),  # only the countdown large
        (80, 4, 2, 0),  # in plain: too low for anything else
        (18, 30, 5, 0),  # too narrow
    ],
)
def test_the_largest_form_that_fits_is_taken(
    width: int, height: int, lines: int, large: int
) -> None:
    found = figure_lines(FULL, width, height, largest=1)
    assert (len(found), sum(bool(set(line) & set("█▀")) for line in found)) == (lines, large)


def test_the_running_hold_is_the_large_countdown_though_another_timer_ends_sooner() -> None:
    view = replace(FULL, timers=(("nitrogen", 100), ("hold", 586)))
    assert "hold: left" in flat(figure_lines(view, 60, 20))
    assert "nitrogen: left" in flat(figure_lines(replace(view, hold=""), 60, 20))


def test_half_blocks_draw_what_big_type_draws() -> None:
    rows = big("4", 1)
    assert half("4") == ["█  █", "▀▀▀█", "   ▀"]
    assert [rows[0], rows[2]] == ["█  █", "████"]


@pytest.mark.parametrize(
    ("seconds", "face"),
    [(0, "0:00"), (-3, "0:00"), (0.2, "0:01"), (59, "0:59"), (60, "1:00"), (599.5, "10:00"),
     (3_600, "1:00:00"), (3_661, "1:01:01")],
)  # fmt: skip
def test_a_clock_face_counts_part_seconds_as_left(seconds: float, face: str) -> None:
    assert clock_face(seconds) == face


def test_no_timers_give_an_empty_line() -> None:
    assert clock_line([]) == ""


# --- what was heard -----------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("outcome", "line", "marked"),
    [
        ("accepted", "next  (93% sure)", "[+] taken: next  (93% sure)"),
        ("asked-back", "next  (93% sure)  [asked back]", "[?] asked back: next  (93% sure)"),
        ("ignored", "next  (93% sure)  [not taken]", "[x] not taken: next  (93% sure)"),
        ("refused", "next  (93% sure)  [refused]", "[x] not taken: next  (93% sure)"),
        ("noted", "next  (93% sure)  [noted]", "[+] noted: next  (93% sure)"),
    ],
)
def test_what_became_of_a_line_is_told_in_words_and_by_a_mark(
    outcome: str, line: str, marked: str
) -> None:
    assert heard_line("next", 0.93, outcome) == line
    assert became_line("next", 0.93, outcome) == marked


def test_no_line_is_shown_as_certain_that_is_not() -> None:
    assert heard_line("next", 0.996, "accepted") == "next  (over 99% sure)"


def test_typed_lines_have_no_sureness_and_noise_has_no_words() -> None:
    assert heard_line("next", None, "accepted") == "next"
    assert heard_line("", 0.1, "ignored") == "(nothing of ours)  (10% sure)  [not taken]"


def test_what_a_line_was_answered_goes_when_the_next_one_comes() -> None:
    later = (*TALK, Said("09:16", "next", "heard", "refused"), Said("09:16", "Not yet.", "answer"))
    view = replace(FULL, heard="next", sure=None, outcome="refused")
    text = flat(told(view, 80, 23, talk=later))
    assert "[x] not taken: next" in text
    assert "Not yet." in text
    assert "412 microns." not in text
    assert "412 microns." in flat(told(view, 120, 40, talk=later))  # beside, in the talk so far


def test_the_prompt_is_not_told_twice_and_a_caution_keeps_its_mark() -> None:
    talk = (Said("09:14", FULL.task, "prompt"), Said("09:14", "Oil flies.", "caution"))
    lines = told(FULL, 80, 23, talk=talk)
    assert flat(lines).count(FULL.task) == 1
    assert "CAUTION: Oil flies." in lines


def test_the_talk_is_turned_back_by_pages_with_its_times_and_the_figures_stay() -> None:
    talk = tuple(Said(f"09:{n:02}", f"Line {n}.", "answer") for n in range(60))
    moment = Moment(FULL, talk=talk, back=1)
    lines = text_of(moment, 40, 19)
    assert "hold 9:46 left" in flat(lines)
    shown = [line for line in lines if "Line" in line]
    assert shown[-1] < "09:59 Line 59."
    last = most_pages(moment, 40, 19)
    assert "09:00 Line 0." in text_of(replace(moment, back=last), 40, 19)
    assert len({line for page in range(last + 1)
                for line in text_of(replace(moment, back=page or 1), 40, 19)
                if "Line" in line}) >= 40  # fmt: skip


# --- the plot -----------------------------------------------------------------------------------

PLOT = Plot(((0.0, 292.0), (1.0, 305.0), (5.0, 318.0)), ((500.0, "limit 500 microns"),),
            ((0.0, 292.0), (5.0, 318.0), (10.0, 325.0)), "hold, with its fit",
            ticks=((0.0, "0"), (10.0, "10 min")))  # fmt: skip


@pytest.mark.parametrize("plain", [False, True])
@pytest.mark.parametrize(("width", "height"), [(28, 6), (45, 9), (100, 24)])
def test_a_plot_has_its_readings_its_limit_and_figures_on_both_axes(
    width: int, height: int, plain: bool
) -> None:
    lines = ["".join(text for text, _ in row)
             for row in plot_rows(PLOT, width, height, plain=plain)]
    text = "\n".join(lines)
    assert len(lines) == height
    assert max(map(len, lines)) <= width
    assert re.search(r"^ *500\S", text, re.MULTILINE)
    assert "limit 500" in text
    assert "10 min" in lines[-1]
    assert text.count("o" if plain else "●") >= 3 + (text.count("microns") if plain else 0)
    assert not plain or text.isascii()


def test_a_lower_level_stands_lower_and_a_later_one_further_right() -> None:
    pull = Plot(((0.0, 4_000.0), (8.0, 900.0)))
    rows = ["".join(text for text, _ in row) for row in plot_rows(pull, 40, 12)]
    (first, one), (last, other) = [(n, row.index("●")) for n, row in enumerate(rows) if "●" in row]
    assert first < last
    assert one < other


def test_a_plot_of_one_reading_or_of_equal_ones_is_drawn() -> None:
    assert plot_rows(Plot(((0.0, 500.0),)), 40, 10)
    assert plot_rows(Plot(((0.0, 500.0), (0.0, 500.0)), ((500.0, "limit"),)), 40, 10)
    assert plot_rows(Plot(()), 40, 10) == []
    assert plot_rows(PLOT, 20, 4) == []


# --- text of any kind ---------------------------------------------------------------------------

EVIL = "a\x1b]0;owned\x07\x1b[2J\x9b31m\r\x08\u202eb\udc9b\tc"


def test_what_steers_a_terminal_is_never_printed() -> None:
    assert printable(EVIL) == "a?]0;owned??[2J?31m ??b? c"
    assert printable("9 °C: “fine” ½ 漢") == "9 °C: “fine” ½ 漢"


@pytest.mark.parametrize(("width", "height"), [*SIZES, *SMALL])
@pytest.mark.parametrize("evil", [EVIL, "漢字" * 40, "a\u0301" * 60, "x" * 10_000, "5 " * 5_000,
                                  "🧊" * 30, "one\ntwo\n" * 20])
def test_hostile_text_stays_in_its_lines(width: int, height: int, evil: str) -> None:
    view = View(title=evil, task=evil, heard=evil, outcome=evil, figure="1", question=evil,
                figure_label=evil, timers=((evil, 5), ("hold", 9)), finished=evil, step=evil,
                others=(evil,), cautions=(evil,), more=evil, waits=evil, then=evil, alarm=evil,
                plot=replace(PLOT, limits=((500.0, evil),), told=evil))  # fmt: skip
    moment = Moment(view, Devices(evil, hearing=evil, voice=evil),
                    (Said("09:14", evil, "heard", evil), Said("09:14", evil, "alert")), (evil,))
    for page in (0, 1):
        rows = layout(replace(moment, back=page), width, height)
        assert len(rows) == height
        assert all(row_cells(row) <= width for row in rows)
        assert all(text.isprintable() for row in rows for text, _ in row)


def test_columns_are_counted_as_a_terminal_counts_them() -> None:
    assert cells("漢a\u0301") == 3
    assert cut("漢字", 3) == "漢"
    assert all(cells(line) <= 10 for line in wrapped("漢字漢字漢字 of glass", 10))


def test_an_ascii_terminal_gets_figures_with_the_same_meaning() -> None:
    assert in_ascii("½ of 9 °C") == "1/2 of 9 degC"
    assert in_ascii("漢") == "?"


# --- plain lines --------------------------------------------------------------------------------


def test_piped_output_has_no_control_codes_and_a_mark_for_each_line() -> None:
    out = io.StringIO()
    screen = LineScreen(out)
    screen.heard("next", 0.93, "accepted")
    screen.reply("Run the pump.", "prompt")
    screen.notice("The microphone is lost.")
    assert out.getvalue() == (
        "   heard next  (93% sure)\n       > Run the pump.\n  notice The microphone is lost.\n"
    )


def test_lines_of_a_reply_stay_lines_but_are_one_for_a_screen_reader() -> None:
    text = "Single pull, or triple?\n  single pull: clean pipe"
    out, reader = io.StringIO(), io.StringIO()
    LineScreen(out).reply(text, "prompt")
    LineScreen(reader, one_line=True).reply(text, "prompt")
    assert out.getvalue() == (
        "       > Single pull, or triple?\n           single pull: clean pipe\n"
    )
    assert reader.getvalue() == "       > Single pull, or triple?  single pull: clean pipe\n"


def test_lines_fit_any_encoding_and_cannot_steer_a_terminal() -> None:
    raw = io.BytesIO()
    screen = LineScreen(io.TextIOWrapper(raw, encoding="ascii"))
    screen.reply(f"9 °C {EVIL}", "answer")
    screen.notice(EVIL)
    assert raw.getvalue().startswith(b"       = 9 ?C a?]0;owned")
    assert not re.search(rb"[^\n -~]", raw.getvalue())


# --- the board ----------------------------------------------------------------------------------


def test_the_board_says_whether_there_is_anything_new_to_draw() -> None:
    board = Board()
    assert board.update(FULL, Devices())
    assert not board.update(FULL, Devices())
    assert board.update(FULL, Devices("listening", 0.5))
    board.notice("One.")
    board.notice("Two.")
    board.notice("One.")
    assert board.moment.notices == ("Two.", "One.")
    board.turn(-3)
    assert board.moment.back == 0
