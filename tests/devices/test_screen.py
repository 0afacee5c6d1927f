"""The screen: plain lines when piped, large and whole on a terminal."""

import io
import re
from dataclasses import replace

import pytest

from fieldvoice.devices.screen import Screen, View, clock_line, printable
from fieldvoice.devices.screen.bigtype import big
from fieldvoice.devices.screen.large_figures import figure_lines
from fieldvoice.devices.screen.layout import layout
from fieldvoice.devices.screen.view import clock_face, heard_line
from support.terminal import ENVIRONMENT, Terminal

FULL = View(
    title="evacuate: pull",
    heard="four hundred twelve microns",
    sure=0.93,
    outcome="accepted",
    timers=(("nitrogen", 1_900), ("hold", 586)),
    figure="412",
    figure_label="vacuum, microns",
)
REPLIES = [("412 microns.", "answer"), ("Close it, then say start the hold. " * 4, "prompt"),
           ("Nitrogen is under pressure.", "caution")]  # fmt: skip
NOTICES = ["The microphone is lost."]
SIZES = [(80, 24), (60, 14), (120, 40), (40, 20), (40, 10), (20, 6)]


def told(view: View, width: int, height: int) -> list[str]:
    return [text for text, _ in layout(view, REPLIES, NOTICES, width, height)]


@pytest.fixture(autouse=True)
def a_terminal(monkeypatch: pytest.MonkeyPatch) -> None:
    for name, value in ENVIRONMENT.items():
        monkeypatch.setenv(name, value)
    monkeypatch.delenv("NO_COLOR", raising=False)


@pytest.mark.parametrize(("width", "height"), SIZES)
def test_the_layout_fills_the_screen_exactly(width: int, height: int) -> None:
    lines = told(FULL, width, height)
    assert len(lines) == height
    assert all(len(text) <= width for text in lines)


def test_what_was_heard_the_newest_reply_and_the_next_timer_show_even_when_small() -> None:
    text = "\n".join(told(FULL, 60, 14))
    assert "four hundred twelve microns  (93% sure)" in text
    assert "CAUTION: Nitrogen" in text
    assert text.index("hold 9:46") < text.index("nitrogen 31:40")


def test_a_notice_shows_even_when_there_is_no_room_for_large_figures() -> None:
    assert not any("█" in text for text in told(FULL, 60, 12))
    assert NOTICES[0] in told(FULL, 60, 12)


def test_value_and_time_left_are_drawn_five_lines_high() -> None:
    assert len([text for text in told(FULL, 80, 24) if "█" in text]) == 5


@pytest.mark.parametrize(
    ("width", "height"), [(80, 24), (60, 14), (40, 24), (40, 20), (40, 10), (30, 30), (20, 10)]
)
@pytest.mark.parametrize("figure", ["412", "1412", "-5.25", "40000"])
@pytest.mark.parametrize("seconds", [586, 1_190, 35_999])
def test_no_figure_is_ever_cut(width: int, height: int, figure: str, seconds: int) -> None:
    """Value and countdown stand there whole, each in large type or in plain."""
    view = replace(FULL, figure=figure, timers=(("hold", seconds), ("nitrogen", 40_000)))
    text = "\n".join(told(view, width, height))
    for figures in (figure, clock_face(seconds)):
        large = any(
            all(row in text for row in big(figures, space)) for space in (1, 2)
        )
        assert large or re.search(rf"(?<!\S){re.escape(figures)}(?!\S)", text), figures
    assert clock_face(40_000) in text


def test_at_forty_columns_the_countdown_is_large_and_whole() -> None:
    lines = told(FULL, 40, 19)
    large = [text for text in lines if "█" in text]
    for row, value, left in zip(large, big("412", 1), big("9:46", 1), strict=True):
        assert row.strip().startswith(value.strip())
        assert row.endswith(left)


def test_at_forty_by_twenty_a_short_answer_leaves_room_for_large_figures() -> None:
    view = replace(FULL, task="Close the valve at the pump, then start the hold.")
    lines = layout(view, [("Nitrogen: 10 minutes.", "answer")], [], 40, 19)
    assert sum("█" in text for text, _ in lines) == 5
    lines = layout(view, [("Nitrogen under pressure throws oil. " * 4, "caution")], [], 40, 19)
    assert sum("█" in text for text, _ in lines) == 0
    assert sum("throws oil" in text for text, _ in lines) == 4


@pytest.mark.parametrize(
    ("width", "height", "lines", "large"),
    [
        (60, 30, 9, 5),  # side by side, with the other timer below
        (40, 30, 9, 5),  # closer together
        (30, 30, 17, 10),  # one above the other
        (30, 16, 11, 5),  # only the countdown large
        (80, 8, 2, 0),  # in plain: too low for anything else
        (18, 30, 5, 0),  # too narrow
    ],
)
def test_the_largest_form_that_fits_is_taken(
    width: int, height: int, lines: int, large: int
) -> None:
    found = figure_lines(FULL, width, height)
    assert (len(found), sum("█" in line for line in found)) == (lines, large)


@pytest.mark.parametrize(
    ("seconds", "face"),
    [(0, "0:00"), (-3, "0:00"), (0.2, "0:01"), (59, "0:59"), (60, "1:00"), (599.5, "10:00"),
     (3_600, "1:00:00"), (3_661, "1:01:01")],
)  # fmt: skip
def test_a_clock_face_counts_part_seconds_as_left(seconds: float, face: str) -> None:
    assert clock_face(seconds) == face


def test_no_timers_give_an_empty_line() -> None:
    assert clock_line([]) == ""


@pytest.mark.parametrize(
    ("words", "sure", "outcome", "line"),
    [
        ("next", None, "accepted", "next"),
        ("next", 0.93, "accepted", "next  (93% sure)"),
        ("next", 0.5, "asked-back", "next  (50% sure)  [asked back]"),
        ("", 0.1, "ignored", "(nothing of ours)  (10% sure)  [not taken]"),
    ],
)
def test_a_line_is_told_with_its_sureness_and_what_became_of_it(
    words: str, sure: float | None, outcome: str, line: str
) -> None:
    assert heard_line(words, sure, outcome) == line


def test_piped_output_has_no_control_codes_and_a_mark_for_each_line() -> None:
    out = io.StringIO()
    screen = Screen(out)
    screen.heard("next", 0.93, "accepted")
    screen.reply("Run the pump.", "prompt")
    screen.show(FULL)
    screen.prompt()
    screen.notice("The microphone is lost.")
    screen.close()
    assert out.getvalue() == (
        "   heard next  (93% sure)\n       > Run the pump.\n  notice The microphone is lost.\n"
    )


def test_lines_of_a_reply_stay_lines() -> None:
    out = io.StringIO()
    Screen(out).reply("Single pull, or triple?\n  single pull: clean pipe", "prompt")
    assert out.getvalue() == (
        "       > Single pull, or triple?\n           single pull: clean pipe\n"
    )
    lines = layout(View(), [("One.\nTwo.", "prompt")], [], 40, 10)
    assert [text for text, _ in lines if text in {"One.", "Two."}] == ["One.", "Two."]


def test_a_terminal_gets_colour_unless_it_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    coloured = drawn("Run the pump.", "alert")
    monkeypatch.setenv("NO_COLOR", "1")
    plain = drawn("Run the pump.", "alert")
    assert "\x1b[1;31m" in coloured
    assert "\x1b[1;31m" not in plain
    assert "Run the pump." in plain


def drawn(text: str, tone: str, view: View = FULL) -> str:
    out = Terminal()
    screen = Screen(out)
    screen.reply(text, tone)
    screen.show(view)
    return out.getvalue()


def test_a_dumb_terminal_is_treated_like_a_pipe(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("TERM", "dumb")
    assert drawn("Run the pump.", "prompt") == "       > Run the pump.\n"


def test_what_the_step_asks_for_stays_in_sight_until_a_reply_says_it() -> None:
    view = View(task="Run the pump.")
    replies = [("I do not know hello.", "answer")]
    assert ("Run the pump.", "prompt") in layout(view, replies, [], 60, 20)
    replies.append(("Run the pump.", "prompt"))
    assert layout(view, replies, [], 60, 20).count(("Run the pump.", "prompt")) == 1


def test_an_open_question_stays_in_sight_when_other_things_are_answered() -> None:
    view = View(task="Run the pump.", question="40,000 microns? Say yes or no.")
    asked = (view.question, "question")
    assert asked in layout(view, [("Hold: 9 minutes left.", "answer")], [], 60, 20)
    just_asked = [("40,000 microns? The usual vacuum is less. Say yes or no.", "question")]
    assert asked not in layout(view, just_asked, [], 60, 20)


@pytest.mark.parametrize("name", ["standing_by", "open_note", "finished"])
def test_how_the_job_stands_is_told(name: str) -> None:
    view = replace(FULL, **{name: "Say back to work."})
    assert any(text.removeprefix("*** ") == "Say back to work." for text in told(view, 60, 24))


@pytest.mark.parametrize(("width", "height"), [(80, 24), (40, 20), (30, 10)])
def test_a_banner_stays_however_small_the_screen(width: int, height: int) -> None:
    view = replace(FULL, standing_by="STANDING BY. Say back to work.", outcome="ignored",
                   question="40,000 microns? Say yes, no, or the value again.")
    long = [("Close the valve at the pump, then read the gauge for a while. " * 6, "prompt")] * 3
    lines = layout(view, long, ["The microphone is lost."], width, height)
    banner = " ".join(text for text, tone in lines[:4] if tone == "banner")
    assert banner == "*** STANDING BY. Say back to work."
    assert "[not taken]" in " ".join(text for text, tone in lines if tone == "heard")


@pytest.mark.parametrize(
    ("outcome", "told"),
    [("accepted", "next"), ("ignored", "next  [not taken]"), ("noted", "next  [noted]"),
     ("asked-back", "next  [asked back]"), ("refused", "next  [refused]")],
)
def test_what_became_of_a_line_is_told_in_words(outcome: str, told: str) -> None:
    assert heard_line("next", None, outcome) == told


EVIL = "a\x1b]0;owned\x07\x1b[2J\x9b31m\r\x08\u202eb\udc9b\tc"


def test_what_steers_a_terminal_is_never_printed() -> None:
    assert printable(EVIL) == "a?]0;owned??[2J?31m ??b? c"
    assert printable("9 °C: “fine” ½ 漢") == "9 °C: “fine” ½ 漢"


@pytest.mark.parametrize("live", [True, False])
def test_words_names_notes_and_notices_cannot_steer_the_terminal(
    live: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setenv("NO_COLOR", "1")
    out = Terminal() if live else io.StringIO()
    screen = Screen(out)
    screen.heard(EVIL, None, "accepted")
    screen.reply(f"Note: {EVIL}\nand {EVIL}", "answer")
    screen.notice(EVIL)
    screen.show(View(title=EVIL, task=EVIL, heard=EVIL, outcome=EVIL, figure="1", question=EVIL,
                     figure_label=EVIL, timers=((EVIL, 5), ("hold", 9)), finished=EVIL))
    ours = r"\x1b(?:\[\d*;?\d*[HKJ]|\[\?7[lh]|7|8)"  # place, erase, wrap, and keep the cursor
    rest = re.sub(ours, "", out.getvalue())
    assert "owned" in rest
    assert not re.search(r"[\x00-\x09\x0b-\x1f\x7f-\x9f\u202e\udc9b]", rest)


def test_a_line_being_typed_is_left_alone_until_it_is_dealt_with() -> None:
    out = Terminal()
    screen = Screen(out)
    screen.show(FULL)
    before = len(out.getvalue())
    screen.reply("Nitrogen: 9 minutes left.", "alert")
    screen.show(FULL)
    added = out.getvalue()[before:]
    assert "Nitrogen: 9 minutes left." in added
    assert "\x1b[24;1H" not in added
    assert added.startswith("\x1b7")  # the cursor is kept
    assert added.endswith("\x1b8")  # and put back
    screen.prompt()
    assert out.getvalue().endswith("\x1b[24;1H\x1b[K> ")


def test_what_a_line_was_answered_goes_when_the_next_one_comes() -> None:
    out = Terminal()
    screen = Screen(out)
    screen.reply("An old answer.", "answer")
    screen.notice("The microphone is lost.")
    screen.heard("next", None, "accepted")
    screen.show(FULL)
    assert "An old answer." not in out.getvalue()
    assert "The microphone is lost." in out.getvalue()


def test_depth_and_listed_steps_are_told_as_long_as_no_reply_tells_them() -> None:
    view = replace(FULL, depth="readings and holds", listed="Before it: change the oil")
    text = "\n".join(told(view, 80, 24))
    assert "evacuate: pull  (readings and holds)" in text
    assert "Before it: change the oil" in text
    said = [("Pull.\nBefore it: change the oil", "prompt")]
    lines = [line for line, _ in layout(view, said, [], 80, 24)]
    assert sum("Before it" in line for line in lines) == 1
