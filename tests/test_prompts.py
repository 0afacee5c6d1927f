"""Values in prompts come from the job sheet; cautions are given when they are new."""

from __future__ import annotations

from datetime import timedelta

import pytest
from bench import Bench
from steps_for_tests import TEXT
from test_assistant_steps import at

from fieldvoice.job.prompts import fill
from fieldvoice.spoken import intents as i


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
    assert fill(text, bench.sheet, bench.now + timedelta(minutes=3)) == filled


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
    return [r.text for r in bench.replies if r.tone == "caution"]


def test_a_caution_is_not_given_twice_in_a_row_but_again_later_and_after_a_restart() -> None:
    bench = Bench(ROW)
    assert _cautions(bench)[1:] == ["Cold.", "Hot. Very hot. Say understood."]
    bench.say(i.Understood())
    bench.say(i.Next())
    assert (bench.sheet.step, _cautions(bench)) == ("second", [])
    bench.resume()
    assert _cautions(bench) == ["Cold.", "Hot. Very hot."]
    bench.say(i.Next())
    bench.say(i.Next())
    assert (bench.sheet.step, _cautions(bench)) == ("fourth", ["Cold."])
