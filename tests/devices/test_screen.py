"""The screen: plain lines when piped, large and whole on a terminal."""

import io

import pytest

from fieldvoice.devices.screen import Screen, View, clock_face, clock_line, figures_of, layout

FULL = View(
    title="evacuate: pull",
    heard="four hundred twelve microns  (93% sure)",
    replies=[("412 microns.", "answer"), ("Close it, then say start the hold. " * 4, "prompt"),
             ("Nitrogen is under pressure.", "caution")],
    timers=[("nitrogen", 1_900.0), ("hold", 548.2)],
    figure="412",
    figure_label="vacuum, microns",
    notices=["The microphone is lost."],
)  # fmt: skip


class Terminal(io.StringIO):
    def isatty(self) -> bool:
        return True


@pytest.mark.parametrize(("width", "height"), [(80, 24), (60, 14), (120, 40), (40, 10), (20, 6)])
def test_the_layout_fills_the_screen_exactly(width: int, height: int) -> None:
    lines = layout(FULL, width, height)
    assert len(lines) == height
    assert all(len(text) <= width for text, _ in lines)


def test_what_was_heard_the_newest_reply_and_the_next_timer_show_even_when_small() -> None:
    told = "\n".join(text for text, _ in layout(FULL, 60, 14))
    assert "four hundred twelve" in told
    assert "CAUTION: Nitrogen" in told
    assert told.index("hold 9:09") < told.index("nitrogen 31:40")


def test_value_and_time_left_are_drawn_five_lines_high() -> None:
    rows = [text for text, _ in layout(FULL, 80, 24) if "█" in text]
    assert len(rows) == 5


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
    ("text", "figures"),
    [("1,412 microns", "1412"), ("-5 psig", "-5"), ("52.5 °F", "52.5"), ("none", "")],
)
def test_figures_are_found_in_a_text(text: str, figures: str) -> None:
    assert figures_of(text) == figures


def test_piped_output_has_no_control_codes_and_a_mark_for_each_line() -> None:
    out = io.StringIO()
    screen = Screen(out)
    screen.title("evacuate: pull")
    screen.heard("next", 0.93)
    screen.reply("Run the pump.", "prompt")
    screen.timers([("hold", 60)])
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
    view = View(replies=[("One.\nTwo.", "prompt")])
    assert [text for text, _ in layout(view, 40, 10) if text in {"One.", "Two."}] == [
        "One.",
        "Two.",
    ]


def test_a_terminal_gets_colour_unless_it_is_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("TERM", "xterm")
    monkeypatch.delenv("NO_COLOR", raising=False)
    coloured, plain = Terminal(), Terminal()
    Screen(coloured).reply("Run the pump.", "alert")
    monkeypatch.setenv("NO_COLOR", "1")
    Screen(plain).reply("Run the pump.", "alert")
    assert "\x1b[1;31m" in coloured.getvalue()
    assert "\x1b[1;31m" not in plain.getvalue()
    assert "Run the pump." in plain.getvalue()


def test_a_dumb_terminal_is_treated_like_a_pipe(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setenv("TERM", "dumb")
    out = Terminal()
    Screen(out).reply("Run the pump.", "prompt")
    assert "\x1b" not in out.getvalue()


def test_what_the_step_asks_for_stays_in_sight_until_a_reply_says_it() -> None:
    view = View(task="Run the pump.", replies=[("I do not know hello.", "answer")])
    assert [text for text, _ in layout(view, 60, 20) if text == "Run the pump."]
    view.replies.append(("Run the pump.", "prompt"))
    assert len([text for text, _ in layout(view, 60, 20) if text == "Run the pump."]) == 1
