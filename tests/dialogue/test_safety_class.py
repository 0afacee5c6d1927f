"""The safety class follows from the refrigerant; what is said against it is asked about."""

from __future__ import annotations

import pytest

from fieldvoice.jobstate import events as e
from fieldvoice.language import intents as i
from fieldvoice.procedure.check import load
from fieldvoice.procedure.reader import shipped
from fieldvoice.trade.errors import TradeError
from support.bench import Bench
from support.every_sort import UNSURE

FLAMMABLE_STEPS = {"no-flame", "air", "detector"}


def at_class(**site: str) -> Bench:
    """A job at the question of how the refrigerant burns."""
    bench = Bench(load(shipped("make-safe")), site)
    while bench.state.step != "refrigerant-amount":
        bench.say(i.Understood())
        bench.say(i.Next())
    bench.read(3, "lb")
    if bench.state.step == "refrigerant":
        bench.say(i.Skip("unknown refrigerant"))
    return bench


def opened(bench: Bench) -> set[str]:
    """The steps from here to the end."""
    found = set()
    while not bench.state.finished:
        found.add(str(bench.state.step))
        bench.say(i.Understood())
        bench.say(i.Next())
    return found


def way(bench: Bench) -> tuple[str, str]:
    """The class that holds, and why, as it is logged."""
    taken = bench.events(e.BranchTaken)[-1]
    assert isinstance(taken, e.BranchTaken)
    return taken.option, taken.why


def test_an_answer_against_the_refrigerant_is_asked_about_and_the_stricter_holds() -> None:
    bench = at_class(refrigerant="R-32")
    asked = bench.say(i.Choose("not-flammable"))
    assert asked == ("R-32 is class A2L, mildly flammable, and you said not flammable. "
                     "Does the plate say so? Say yes or no.")
    assert bench.state.step == "refrigerant-class"
    said = bench.say(i.Yes())
    assert said.startswith("The stricter of the two holds. Mildly flammable.")
    assert way(bench) == ("mildly-flammable", "said not flammable, but R-32 is class A2L, "
                          "mildly flammable: the stricter holds")
    assert opened(bench) >= FLAMMABLE_STEPS


def test_a_plate_that_burns_more_than_the_jobs_refrigerant_holds_and_casts_doubt_on_it() -> None:
    bench = at_class(refrigerant="R-410A")
    bench.say(i.Choose("highly-flammable"))
    said = bench.say(i.Yes())
    assert said.startswith("Then check the refrigerant: this job was begun with R-410A.")
    assert way(bench)[0] == "highly-flammable"
    assert opened(bench) >= FLAMMABLE_STEPS | {"room-size"}  # 3 lb is far over propane's 0.33


@pytest.mark.parametrize("other", [i.No(), i.TakeBack()])
def test_a_slip_of_the_tongue_is_dropped_and_the_class_asked_for_again(other: i.Intent) -> None:
    bench = at_class(refrigerant="R-32")
    bench.say(i.Choose("not-flammable"))
    bench.say(other)
    assert bench.state.question is None
    assert bench.state.step == "refrigerant-class"
    bench.say(i.Choose("mildly-flammable"))
    assert way(bench) == ("mildly-flammable", "")


def test_the_right_class_said_while_the_question_is_open_answers_it() -> None:
    bench = at_class(refrigerant="R-32")
    bench.say(i.Choose("not-flammable"))
    bench.say(i.Choose("mildly-flammable"))
    assert bench.state.question is None
    assert way(bench) == ("mildly-flammable", "")


def test_a_badly_heard_class_is_held_against_the_refrigerant_after_its_yes() -> None:
    bench = at_class(refrigerant="R-32")
    bench.say(i.Choose("not-flammable"), confidence=UNSURE, words="not flammable")
    assert "class A2L" in bench.say(i.Yes())
    assert bench.state.step == "refrigerant-class"


def test_the_question_is_put_again_in_full() -> None:
    bench = at_class(refrigerant="R-32")
    asked = bench.say(i.Choose("not-flammable"))
    assert bench.say(i.Repeat()) == asked
    assert bench.say(i.NotUnderstood("What?", "unknown")) == f"Not understood. {asked}"


@pytest.mark.parametrize("site", [{}, {"refrigerant": "R-999"}, {"refrigerant": "R-410A"}])
def test_an_answer_that_nothing_speaks_against_is_taken(site: dict[str, str]) -> None:
    bench = at_class(**site)
    bench.say(i.Choose("not-flammable"))
    assert way(bench) == ("not-flammable", "")
    assert not opened(bench) & FLAMMABLE_STEPS


@pytest.mark.parametrize("site", [{}, {"refrigerant": "R-32"}])
def test_flammable_alone_asks_back_which(site: dict[str, str]) -> None:
    bench = at_class(**site)
    assert bench.say(i.Choose("flammable")) == (
        "Mildly flammable, A2L or A2 on the plate? Or highly flammable, A3 on the plate?")
    assert bench.state.step == "refrigerant-class"
    assert bench.events(e.LineHeard)[-1].outcome == "asked-back"
    bench.say(i.Choose("mildly-flammable"))
    assert way(bench)[0] == "mildly-flammable"


def test_a_class_that_nobody_could_read_leaves_every_step_for_flammable_ones_in() -> None:
    bench = at_class(refrigerant="R-410A")
    bench.say(i.Skip("no plate"))
    assert opened(bench) >= FLAMMABLE_STEPS | {"room-size"}


def test_facts_that_contradict_each_other_are_refused_at_the_start() -> None:
    with pytest.raises(TradeError, match="refrigerant-class=not-flammable contradicts"):
        at_class(**{"refrigerant": "R-32", "refrigerant-class": "not-flammable"})


OLD = """\
procedure older "One word for all that burns"
stage safe "Safe"
step class
  say "Flammable, or not flammable?"
  choose flammable
  choose not-flammable
step clear
  only when class is flammable
  say "Clear the area."
step last
  say "Done."
  end done
"""


def test_a_procedure_with_one_word_for_all_that_burns_keeps_it() -> None:
    bench = Bench(OLD, {"refrigerant": "R-32"})
    bench.say(i.Choose("not-flammable"))
    bench.say(i.Yes())
    assert way(bench)[0] == "flammable"
    assert bench.state.step == "clear"
