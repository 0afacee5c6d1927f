"""What the screen shows is what counts in the log, after every line, repair and restart."""

from __future__ import annotations

from datetime import datetime, timedelta

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fieldvoice.commands.wiring.screen.screen_output import Follower
from fieldvoice.commands.wiring.screen_state import screen_state
from fieldvoice.devices.screen import Devices, View
from fieldvoice.devices.screen.board import Board
from fieldvoice.dialogue.assistant import Reply
from fieldvoice.dialogue.record_reading import expected
from fieldvoice.jobstate import events as e
from fieldvoice.jobstate.events import Entry, Event
from fieldvoice.jobstate.state import JobState, fold
from fieldvoice.language.parser import understand
from fieldvoice.procedure.model import Procedure
from fieldvoice.session import Session
from support import every_sort
from support.bench import START, Bench
from support.job_bench import JobBench
from support.screen_states import PROCEDURE
from support.small_procedure import TEXT
from support.terminal import Shown, stands_large

LINE_S = 5

# name -> what is said, and the large figure after it; "" where no reading counts
REPAIRS = {
    "a correction by value": (
        ("understood", ""),
        ("nine hundred microns", "900"),
        ("correction four eighty", "480"),
        ("take that back", "900"),
    ),
    "a change of a reading by its name": (
        ("understood", ""),
        ("nine hundred microns", "900"),
        ("suction one eighteen", "900"),  # the step waits for the vacuum
        ("change the last vacuum to eight fifty", "850"),
        ("change the last suction pressure to one twenty", "850"),
        ("change the last vacuum to four ten", "410"),
    ),
    "taking back until nothing counts, and putting back": (
        ("understood", ""),
        ("nine hundred microns", "900"),
        ("eight hundred microns", "800"),
        ("take that back", "900"),
        ("take that back", ""),
        ("put it back", "900"),
        ("take that back", ""),
        ("four ten microns", "410"),
    ),
    "back over a step, and its reading taken back there": (
        ("understood", ""),
        ("four ten microns", "410"),
        ("back", "410"),
        ("put it back", "410"),
        ("back", "410"),
        ("take that back", ""),
    ),
    "a read-back answered no, then yes": (
        ("understood", ""),
        ("nine hundred microns", "900"),
        ("vacuum forty thousand microns", "900"),
        ("no", "900"),
        ("vacuum forty thousand microns", "900"),
        ("yes", "40000"),
        ("take that back", "900"),
    ),
    "a read-back answered with another value": (
        ("understood", ""),
        ("vacuum forty thousand microns", ""),
        ("nine hundred microns", "900"),
        ("correction two microns", "900"),
        ("take that back", "900"),  # drops the question
        ("correction two microns", "900"),
        ("three microns", "900"),
        ("yes", "3"),
    ),
    "two readings in one line": (
        ("understood", ""),
        ("suction one eighteen and liquid three fifty", "350"),
        ("change the last suction pressure to one twenty", "350"),
        ("correction three sixty", "360"),
        ("nine hundred microns", "900"),
        ("take that back", "360"),
        ("take that back", "350"),
        ("take that back", "350"),  # the change of the suction pressure
        ("take that back", ""),
    ),
    "a correction that opens the step again": (
        ("understood", ""),
        ("four ten microns", "410"),
        ("correction nine hundred", "900"),
        ("take that back", "410"),
    ),
    "a hold": (
        ("understood", ""),
        ("four ten microns", "410"),
        ("start the hold", "410"),
        ("four twelve", "412"),
        ("correction four twenty", "420"),
        ("take that back", "412"),
        ("resume", "412"),
        ("take that back", "410"),
    ),
}  # fmt: skip


class BothWays:
    """The same lines through the bench and through a session that a screen follows."""

    def __init__(self, procedure: str) -> None:
        self.bench = Bench(procedure)
        self.log: list[Entry] = []
        self.replies: list[Reply] = []
        self.session = self._session(JobState.empty(self.bench.procedure))
        self.session.begin("bench", {})

    def _session(self, state: JobState) -> Session:
        self.output = Shown()
        return Session(state, self._append, self.output.reply, lambda: self.bench.now,
                       self.output.entry)

    def _append(self, event: Event, at: datetime) -> Entry:
        self.log.append(Entry(len(self.log) + 1, at, event))
        return self.log[-1]

    def say(self, line: str) -> View:
        self.bench.now += timedelta(seconds=LINE_S)
        if line == "resume":
            self.bench.resume()
            self.session = self._session(fold(JobState.empty(self.bench.procedure), self.log))
            self.session.resume()
        else:
            self.bench.say(understand(line), words=line)
            self.session.hear_line(line, "typed")
        self.output.show(self.session.state, self.bench.now)
        view = screen_state(self.session.state, self.bench.now)
        assert view == screen_state(self.bench.state, self.bench.now)
        assert view == screen_state(self.bench.refolded(), self.bench.now)
        return view


@pytest.mark.parametrize("name", REPAIRS)
def test_after_every_repair_the_large_figure_is_the_value_that_counts(name: str) -> None:
    both = BothWays(TEXT)
    for line, figure in REPAIRS[name]:
        view = both.say(line)
        assert view.figure == figure, line
        lines = both.output.lines()
        assert any("██" in text for text in lines) == bool(figure or view.timers), line
        assert not figure or stands_large(figure, lines), line


@pytest.mark.parametrize("name", REPAIRS)
def test_from_any_event_on_a_resumed_job_shows_what_counts(name: str) -> None:
    both = BothWays(TEXT)
    for line, _ in REPAIRS[name]:
        both.say(line)
    for kept in range(1, len(both.log) + 1):
        bench = Bench(TEXT)
        bench.log, bench.now = both.log[:kept], both.bench.now
        assert shown(bench.refolded()) == by_hand(bench.refolded(), bench.log)
        bench.resume()
        assert shown(bench.state) == by_hand(bench.state, bench.log)


def shown(state: JobState) -> str:
    return screen_state(state, START).figure


def withdrawn(log: list[Entry]) -> set[int]:
    """What was withdrawn and not put back; from the end, as a withdrawal may be withdrawn too."""
    found: set[int] = set()
    for entry in reversed(log):
        if isinstance(entry.event, e.Withdrawn) and entry.seq not in found:
            found.add(entry.event.withdraws)
    return found


def by_hand(state: JobState, log: list[Entry]) -> str:
    """The figure worked out from the log alone."""
    out = withdrawn(log)
    values: dict[int, tuple[str, str]] = {}
    for entry in log:
        event = entry.event
        if entry.seq in out:
            continue
        if isinstance(event, e.ReadingTaken):
            values[entry.seq] = (event.quantity, event.value)
        elif isinstance(event, e.ReadingCorrected) and event.corrects in values:
            values[event.corrects] = (values[event.corrects][0], event.value)
    awaited = expected(state)
    wanted = [value for quantity, value in values.values() if quantity == awaited]
    return (wanted or [value for _, value in values.values()] or [""])[-1]


LINES = (
    "understood", "next", "back", "yes", "no", "take that back", "put it back", "resume",
    "nine hundred microns", "four ten microns", "four twenty", "forty thousand microns",
    "correction four eighty", "correction two microns", "correction nine hundred",
    "change the last vacuum to four fifty", "change the last suction pressure to one twenty",
    "suction one eighteen and liquid three fifty", "outdoor temperature seventy", "suction ninety",
    "start the hold", "stop the hold", "skip because no access", "finish the job", "take a note",
    "end note", "stand by", "back to work", "flammable", "break with nitrogen", "hello there",
)  # fmt: skip


@settings(max_examples=60, deadline=None)
@given(
    st.sampled_from((TEXT, every_sort.TEXT)),
    st.lists(st.sampled_from(LINES), max_size=25),
)
def test_whatever_is_said_the_screen_shows_what_counts_in_the_log(
    procedure: str, lines: list[str]
) -> None:
    both = BothWays(procedure)
    for line in lines:
        view = both.say(line)
        state = both.session.state
        assert view.figure == by_hand(state, both.log)
        assert view.heard == (state.last_heard.words if state.last_heard else "")
        assert bool(view.question) == (state.question is not None)
        assert bool(view.standing_by) == state.standing_by
        assert bool(view.open_note) == (state.open_note is not None)
        assert bool(view.finished) == state.finished


def test_the_label_names_the_quantity_and_its_unit() -> None:
    both = BothWays(TEXT)
    assert both.say("understood").figure_label == ""
    assert both.say("suction one eighteen").figure_label == "suction pressure, psig"
    assert both.say("nine hundred microns").figure_label == "vacuum, microns"


def test_two_units_are_drawn_as_two_numbers() -> None:
    both = BothWays(TEXT)
    view = both.say("refrigerant amount seven pounds two ounces")
    assert (view.figure, view.figure_label) == ("7 2", "refrigerant amount, lb and oz")


def test_stage_task_sureness_and_time_left_follow_the_state() -> None:
    bench = Bench(TEXT)
    bench.say(understand("understood"), confidence=0.99, words="understood")
    view = screen_state(bench.state, bench.now)
    assert (view.title, view.task) == ("Evacuate", "Run the pump and read the gauge.")
    assert (view.heard, view.sure, view.outcome) == ("understood", 0.99, "accepted")
    bench.read(410)
    bench.say(understand("start the hold"))
    bench.say(understand("set a five minute nitrogen timer"))
    bench.wait(seconds=30.5)
    view = screen_state(bench.state, bench.now)
    assert view.timers == (("nitrogen", 270), ("hold", 570))
    bench.wait(minutes=6)
    assert screen_state(bench.state, bench.now).timers == (("hold", 210),)


def test_question_note_standing_by_and_ending_are_told_and_go_again() -> None:
    both = BothWays(TEXT)
    both.say("understood")
    asked = both.say("vacuum forty thousand microns")
    assert (asked.question, asked.outcome) == (
        "40,000 microns? Say yes, no, or the value again.", "asked-back")
    assert both.say("no").question == ""
    assert both.say("take a note").open_note == "NOTING. Say end note."
    assert both.say("end note").open_note == ""
    assert both.say("stand by").standing_by == "STANDING BY. Say carry on."
    assert both.say("back to work").standing_by == ""
    both.say("finish the job")
    assert both.say("yes").finished == "The job is finished: stopped early."


def test_before_the_first_event_there_is_nothing_to_show_but_the_title() -> None:
    procedure: Procedure = Bench(TEXT).procedure
    view = screen_state(JobState.empty(procedure), START)
    assert view == View(title="Pump down and hold", can_say=view.can_say)


def test_the_depth_and_what_is_done_with_the_open_step_are_shown() -> None:
    text = every_sort.TEXT.replace(
        'step pull\n', 'step oil\n  say "Change the oil."\nstep pull\n', 1).replace(
        'go to pull\nstep warm-up', 'go to oil\nstep warm-up', 1)
    bench = Bench(text, depth="readings-and-holds")
    for line in ("understood and done", "not flammable", "outdoor temperature 70"):
        bench.say(understand(line), words=line)
    view = screen_state(bench.state, bench.now)
    assert (view.depth, view.listed) == ("readings and holds", "Before it: change the oil")
    assert view.task == "Pull below 500 microns."
    bench.say(understand("every step"))
    view = screen_state(bench.state, bench.now)
    assert (view.depth, view.listed, view.task) == ("", "", "Change the oil.")


# --- what the step asks for now -----------------------------------------------------------------


def at_hold() -> Bench:
    bench = Bench(TEXT.replace("Close the valve at the pump, then start the hold.",
                               "Wait one minute, then say start the hold."))
    for line in ("understood", "nine hundred microns", "four ten microns"):
        bench.wait(minutes=1)
        bench.say(understand(line), words=line)
    return bench


def now(bench: Bench) -> View:
    return screen_state(bench.state, bench.now)


def test_what_the_step_asks_for_gives_way_to_the_hold_while_that_runs() -> None:
    bench = at_hold()
    assert now(bench).task == "Wait one minute, then say start the hold."
    bench.say(understand("start the hold"))
    view = now(bench)
    assert "start the hold" not in f"{view.task} {view.waits}"
    assert view.waits == "Minute 0: tell me the vacuum."
    bench.read(412)
    assert now(bench).waits == "Next vacuum at minute 1."
    bench.wait(minutes=1.1)
    assert now(bench).waits == "Minute 1: tell me the vacuum."
    bench.read(413)
    bench.wait(minutes=4.5)
    bench.read(416)
    assert now(bench).waits == "A last vacuum when the time is up."
    assert now(bench).hold == "hold"
    bench.wait(minutes=5)
    view = now(bench)
    assert (view.task, view.waits, view.hold) == (
        "The time is up. I need a final vacuum.", "", "")
    bench.say(understand("add two minutes"))
    assert now(bench).task != "Wait one minute, then say start the hold."


def test_what_the_step_needs_is_not_told_while_a_question_or_a_note_comes_first() -> None:
    bench = Bench(TEXT)
    bench.say(understand("understood"))
    for first, then in (("vacuum forty thousand microns", "no"), ("stand by", "carry on"),
                        ("take a note", "end note")):
        assert now(bench).waits == "I need the vacuum, at most 500 microns."
        bench.say(understand(first), words=first)
        assert (now(bench).waits, bool(now(bench).banners)) == ("", True)
        bench.say(understand(then), words=then)


def test_a_stopped_hold_is_asked_for_again() -> None:
    bench = at_hold()
    bench.say(understand("start the hold"))
    bench.say(understand("stop the hold"))
    assert now(bench).task == "Wait one minute, then say start the hold."
    assert now(bench).waits.startswith("Say start the hold")


def test_a_caution_that_waits_for_its_word_stands_in_the_place_of_the_step() -> None:
    bench = Bench(TEXT)
    view = now(bench)
    assert (view.task, view.waits, view.caution) == (
        "Never put oxygen into the system.", "Say understood.", True)
    assert view.then == "Then: Run the pump and read the gauge."
    bench.say(understand("understood"))
    view = now(bench)
    assert (view.caution, view.cautions) == (False, ("Never put oxygen into the system.",))
    assert view.waits == "I need the vacuum, at most 500 microns."
    assert view.then == "Then: Close the valve at the pump, then start the hold."


def test_what_comes_next_is_told_with_the_verdict_that_leads_there() -> None:
    assert now(at_hold()).then == "Then, if tight: Release the charge."
    bench = Bench(every_sort.TEXT)
    assert now(bench).then  # a caution first
    bench.say(understand("understood"))
    assert not bench.state.open_step.choices or now(bench).then == ""  # not known yet


def test_the_figure_stands_there_after_resume_and_the_hold_goes_on_large() -> None:
    bench = at_hold()
    bench.say(understand("start the hold"))
    bench.read(412)
    bench.wait(minutes=3)
    bench.resume()
    view = now(bench)
    assert (view.figure, view.timers) == ("412", (("hold", 420),))
    shown = Shown()
    for reply in bench.replies:
        shown.reply(reply)
    shown.show(bench.state, bench.now)
    for width, height in ((80, 23), (40, 19)):
        lines = shown.lines(width, height)
        assert stands_large("412", lines)
        assert stands_large("7:00", lines)


def test_the_plot_has_this_pull_with_its_forecast_then_the_hold_with_its_fit() -> None:
    bench = Bench(TEXT)
    bench.say(understand("understood"))
    assert now(bench).plot is None
    for value in (4_000, 2_000, 1_200, 800):
        bench.wait(minutes=2)
        bench.read(value)
    plot = now(bench).plot
    assert plot is not None
    assert [round(level) for _, level in plot.points] == [4_000, 2_000, 1_200, 800]
    assert [minute for minute, _ in plot.points] == [0, 2, 4, 6]
    assert [(round(level), text) for level, text in plot.limits] == [(500, "limit 500 microns")]
    assert plot.fit[0] == plot.points[-1]
    assert round(plot.fit[-1][1]) == 500
    assert "min to go" in plot.told
    bench.wait(minutes=2)
    bench.read(410)
    bench.say(understand("start the hold"))
    for value in (412, 420, 424, 427):
        bench.read(value)
        bench.wait(minutes=1)
    plot = now(bench).plot
    assert plot is not None
    assert [round(level) for _, level in plot.points] == [412, 420, 424, 427]
    assert plot.fit[-1][0] == 10
    assert 427 < plot.fit[-1][1] < 460  # goes on to the end of the hold
    bench.say(understand("take that back"))
    taken_back = now(bench).plot
    assert taken_back is not None
    assert len(taken_back.points) == 3


def test_a_pressure_above_the_plate_is_told_until_it_is_let_down() -> None:
    bench = JobBench(PROCEDURE)
    for line in ("understood", "design pressure 480", "520 psig"):
        bench.say(line)
    assert screen_state(bench.job, bench.now).alarm == (
        "Let it down now. 520 psig, plate 480 psig.")
    assert "OVER THE PLATE" in screen_state(bench.job, bench.now).banners[0]
    bench.say("nitrogen pressure 470 psig")
    assert screen_state(bench.job, bench.now).alarm == ""


def test_only_what_changed_is_drawn_again() -> None:
    bench = at_hold()
    board = Board()
    follow = Follower(board)
    assert follow.show(bench.state, bench.now)
    later = [bench.now + timedelta(seconds=n / 4) for n in range(1, 9)]
    assert not any(follow.show(bench.state, at) for at in later)
    bench.say(understand("start the hold"))
    drawn = [follow.show(bench.state, bench.now + timedelta(seconds=n / 4)) for n in range(12)]
    assert drawn[0]
    assert sum(drawn) in (3, 4)  # once a second
    assert follow.show(bench.state, later[0], Devices("listening"))


def test_lines_that_a_key_completes_fit_the_step() -> None:
    view = now(at_hold())
    assert view.can_say[0] == "start the hold"
    assert "say again" in view.can_say
