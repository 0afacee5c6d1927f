"""Values in prompts come from the job state; cautions are given when they are new."""

from __future__ import annotations

from datetime import timedelta

import pytest

from fieldvoice.dialogue.prompts import fill
from fieldvoice.jobstate import events as e
from fieldvoice.language import intents as i
from support.bench import Bench
from support.every_sort import TEXT, at


@pytest.mark.parametrize(
    ("text", "filled"),
    [
        ("At {limit.deep}.", "At 500 microns."),
        ("{hold.title}: {hold.remaining} left", "standing vacuum: 7 minutes left"),
        ("{vacuum.last} and {voltage.last}", "450 microns and no reading yet"),
        ("It is {answer.class}.", "It is not flammable."),
        ("no braces", "no braces"),
    ],
)
def test_values_are_filled_in(text: str, filled: str) -> None:
    bench = at(Bench(TEXT), "stand")
    bench.say(i.StartHold())
    assert fill(text, bench.state, bench.now + timedelta(minutes=3)) == filled


def test_a_caution_heard_before_is_said_shortly_and_shown_in_full() -> None:
    text = TEXT.replace('"Prove it dead."', '"Prove it dead. Tag it too."').replace(
        'say "Clear the area."', 'say "Clear the area." caution power')
    bench = Bench(text, {"class": "flammable"})
    bench.say(i.Understood())
    bench.say(i.Next())
    caution = bench.replies[0]
    assert (caution.tone, caution.spoken) == ("caution", "Prove it dead.")
    assert caution.text == "Prove it dead. Tag it too."


ROW = """\
procedure row "Cautions in a row"
caution cold "Cold."
caution hot "Hot. Very hot." acknowledge
stage one "One"
step first say "First." caution cold caution hot
step second say "Second." caution cold caution hot
step third say "Third."
step fourth say "Fourth." caution cold end done
"""


def _cautions(bench: Bench) -> list[str]:
    return [r.spoken or r.text for r in bench.replies if r.tone == "caution"]


TWO = """\
procedure two "Two cautions"
caution gas "It suffocates. Go outdoors." acknowledge
caution cold "Cold."
caution fire "It burns." acknowledge
stage one "One"
step first say "Open it." caution gas caution cold caution fire
step last say "Done." end done
"""


def test_each_caution_that_protects_life_waits_for_its_own_word() -> None:
    bench = Bench(TWO)
    assert _cautions(bench)[1:] == ["It suffocates. Go outdoors. Say understood."]
    assert bench.say(i.Next()) == "First the caution: say understood."
    assert bench.say(i.Understood()) == "Cold. It burns. Say understood."
    assert bench.state.unacknowledged() == ["fire"]
    assert bench.say(i.Understood()) == "Open it."
    given = [v.caution for v in bench.events(e.CautionAcknowledged)
             if isinstance(v, e.CautionAcknowledged)]
    assert given == ["gas", "fire"]
    assert bench.refolded() == bench.state


def test_a_caution_on_the_screen_defers_to_code_instructions_and_licence() -> None:
    bench = Bench(TWO)
    shown = next(r.text for r in bench.replies if r.text.startswith("It suffocates."))
    for word in ("code", "instructions", "licence"):
        assert word in shown


def test_a_caution_is_not_given_twice_in_a_row_but_again_later_and_after_a_restart() -> None:
    bench = Bench(ROW)
    assert _cautions(bench)[1:] == ["Cold.", "Hot. Very hot. Say understood."]
    bench.say(i.Understood())
    bench.say(i.Next())
    assert (bench.state.step, _cautions(bench)) == ("second", [])
    bench.resume()
    assert _cautions(bench) == ["Cold.", "Hot."]
    bench.say(i.Next())
    bench.say(i.Next())
    assert (bench.state.step, _cautions(bench)) == ("fourth", ["Cold."])
