"""A hold shorter than the procedure's: for a reason that is logged, never against a criterion."""

from __future__ import annotations

from datetime import timedelta

import pytest

from fieldvoice.jobstate import events as e
from fieldvoice.language import intents as i
from fieldvoice.language.parser import understand
from support.bench import Bench
from support.every_sort import TEXT, at

STRICT = TEXT.replace("caution power", 'criterion strict "UFGS 15182 section 3.3.3"\n'
                      "  set wait = 60 min\ncaution power", 1)
FIVE = i.StartHold(timedelta(minutes=5))
MANUAL = "the unit's manual says so"


@pytest.fixture
def stand() -> Bench:
    return at(Bench(TEXT), "stand")


def hear(bench: Bench, *lines: str) -> str:
    return [bench.say(understand(line), words=line) for line in lines][-1]


def run(bench: Bench, minutes: int) -> str:
    """Readings each minute of a tight hold, to its end."""
    text = ""
    for minute in range(minutes + 1):
        text = bench.read(450 + min(minute, 3), "microns")
        if minute < minutes:
            bench.wait(minutes=1)
    return text


def test_the_reason_is_asked_for_and_logged_with_the_hold(stand: Bench) -> None:
    assert stand.say(FIVE) == (
        "The hold is 10 minutes (common practice). Who asks for 5 minutes? "
        "For example: by the unit's manual. Or say no.")
    assert stand.state.hold is None
    assert hear(stand, "the unit's manual says five minutes").startswith(
        f"Hold started: 5 minutes, {MANUAL}.")
    started = stand.events(e.TimerStarted)[-1]
    assert (started.seconds, started.reason) == (300.0, MANUAL)


def test_the_reason_can_come_with_the_hold(stand: Bench) -> None:
    hear(stand, "start a five minute hold by the unit's manual")
    assert stand.events(e.TimerStarted)[-1].reason == MANUAL
    bench = at(Bench(TEXT), "stand")
    hear(bench, "start a 5 min hold, sheet 4 of the drawings")
    assert bench.events(e.TimerStarted)[-1].reason == "sheet 4 of the drawings"


def test_a_no_starts_nothing_and_another_length_replaces_the_question(stand: Bench) -> None:
    stand.say(FIVE)
    assert hear(stand, "no").startswith("All right, not started.")
    assert (stand.state.hold, stand.state.question) == (None, None)
    stand.say(FIVE)
    assert hear(stand, "start the hold").startswith("Hold started: 10 minutes.")
    assert stand.events(e.TimerStarted)[-1].reason is None


def test_a_longer_hold_is_simply_done(stand: Bench) -> None:
    assert hear(stand, "start a twenty minute hold").startswith("Hold started: 20 minutes.")
    assert stand.events(e.TimerStarted)[-1].reason is None


def test_less_than_a_minute_shows_nothing(stand: Bench) -> None:
    assert "Less than a minute" in hear(stand, "start a 30 second hold because I say so")


@pytest.mark.parametrize("site", [{"criterion": "strict"},
                                  {"criterion": "UFGS 15182 section 3.3.3"}, {"wait": "20 min"}])
def test_what_the_site_has_chosen_is_not_undercut(site: dict[str, str]) -> None:
    bench = at(Bench(STRICT, site), "stand")
    text = bench.say(i.StartHold(timedelta(minutes=15), MANUAL))
    assert "This site asks for" in text
    assert bench.state.hold is None
    assert bench.state.question is None


def test_the_verdict_goes_by_the_own_length_and_names_it(stand: Bench) -> None:
    stand.say(i.StartHold(timedelta(minutes=5), MANUAL))
    text = run(stand, 5)
    assert "Verdict: tight." in text
    given = stand.events(e.VerdictGiven)[-1]
    assert given.figures["own_length"] == f"Held 5 minutes instead of 10 minutes: {MANUAL}."
    assert given.figures["limits"]["hold_minutes"] == 5.0
    assert f"Held 5 minutes instead of 10 minutes: {MANUAL}." in stand.replies[1].text


def test_a_correction_judges_by_the_own_length_too(stand: Bench) -> None:
    stand.say(i.StartHold(timedelta(minutes=5), MANUAL))
    run(stand, 5)
    assert stand.state.step == "finish-up"
    hear(stand, "correction four fifty four")
    assert stand.events(e.VerdictGiven)[-1].figures["own_length"]


def test_one_that_was_lengthened_to_the_procedures_is_its_own_no_more(stand: Bench) -> None:
    stand.say(i.StartHold(timedelta(minutes=5), MANUAL))
    hear(stand, "add five minutes")
    run(stand, 10)
    assert "own_length" not in stand.events(e.VerdictGiven)[-1].figures


def test_a_crash_before_the_reason_asks_for_it_again(stand: Bench) -> None:
    stand.say(FIVE)
    assert "Who asks for 5 minutes?" in stand.resume()
    hear(stand, "the unit's manual says so")
    assert stand.events(e.TimerStarted)[-1].seconds == 300.0
