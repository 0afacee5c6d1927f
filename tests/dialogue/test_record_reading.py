"""Readings: logged, read back, doubted where they should be, never guessed."""

from __future__ import annotations

from decimal import Decimal

import pytest

from fieldvoice.dialogue import confidence
from fieldvoice.dialogue.assistant import decide
from fieldvoice.dialogue.confidence import Decision
from fieldvoice.jobstate import events as e
from fieldvoice.language import intents as i
from fieldvoice.language.parser import understand
from fieldvoice.review.event_words import describe
from support.bench import Bench
from support.every_sort import NOISE, TEXT, UNSURE, at, taken


@pytest.fixture
def pull() -> Bench:
    return at(Bench(TEXT), "pull")


def test_a_reading_that_completes_the_step_is_read_back_and_leads_on(pull: Bench) -> None:
    assert pull.read(412) == "412 microns, inside the limit. Start the hold."
    reading = pull.events(e.ReadingTaken)[-1]
    assert (reading.value, reading.unit, reading.within) == ("412", "microns", True)
    # micron of mercury, conventional: 0.133322387 Pa (NIST SP 811 App. B.8)
    assert reading.si == pytest.approx(412 * 0.133322387, rel=1e-6)


def test_a_reading_outside_the_limit_is_logged_and_the_step_waits(pull: Bench) -> None:
    assert pull.read("4120") == "4,120 microns. That is above 500 microns."
    assert pull.events(e.ReadingTaken)[-1].within is False
    assert pull.state.step == "pull"


def test_the_value_is_kept_exactly_as_said(pull: Bench) -> None:
    pull.read("1.20", "torr")
    assert taken(pull)[-1] == ("vacuum", "1.20", "torr")


def test_an_unasked_reading_is_logged_with_its_quantity_and_named(pull: Bench) -> None:
    assert pull.read(118, "psig", "suction-pressure") == "Suction pressure 118 psig."
    assert pull.state.step == "pull"


def test_several_readings_in_one_breath_are_all_taken_in_order(pull: Bench) -> None:
    pull.say(i.Readings((
        i.Reading(Decimal(118), "psig", "suction-pressure"),
        i.Reading(Decimal(900), "microns", "vacuum"),
    )))
    assert [q for q, _, _ in taken(pull)][-2:] == ["suction-pressure", "vacuum"]


def test_a_unit_of_another_dimension_is_refused_with_the_reason(pull: Bench) -> None:
    before = taken(pull)
    assert pull.read(412, "ft", "vacuum")
    assert taken(pull) == before
    assert pull.events(e.LineHeard)[-1].outcome == "refused"


def test_a_surprising_value_counts_only_after_yes(pull: Bench) -> None:
    pull.read(530)
    text = pull.read(4120)
    assert text.startswith("4,120 microns? That is far above the last vacuum, 530 microns.")
    assert text.endswith("Say yes, no, or the value again.")
    assert taken(pull)[-1] == ("vacuum", "530", "microns")
    assert pull.events(e.Asked)[-1].why == "surprising"
    pull.say(i.Yes())
    assert taken(pull)[-1] == ("vacuum", "4120", "microns")
    assert pull.events(e.Answered)[-1].answer == "yes"


def test_no_drops_the_doubted_value(pull: Bench) -> None:
    pull.read(530)
    pull.read(4120)
    assert pull.say(i.No()) == "Dropped. Say it again."
    assert taken(pull)[-1] == ("vacuum", "530", "microns")
    assert pull.state.question is None


def test_another_value_replaces_the_doubted_one(pull: Bench) -> None:
    pull.read(530)
    pull.read(4120)
    assert pull.read(412).startswith("412 microns, inside the limit.")
    assert pull.events(e.Answered)[-1].answer == "replaced"
    assert taken(pull)[-2:] == [("vacuum", "530", "microns"), ("vacuum", "412", "microns")]


def test_the_same_value_again_confirms_it(pull: Bench) -> None:
    pull.read(530)
    pull.read(4120)
    assert pull.read(4120) == "4,120 microns. That is above 500 microns."
    assert taken(pull)[-1] == ("vacuum", "4120", "microns")


def test_another_surprising_value_is_asked_about_again(pull: Bench) -> None:
    pull.read(530)
    pull.read(4120)
    assert pull.read(9999).startswith("9,999 microns?")
    assert taken(pull)[-1] == ("vacuum", "530", "microns")


def test_other_quantities_are_taken_while_a_question_is_open(pull: Bench) -> None:
    pull.read(530)
    pull.read(4120)
    pull.read(118, "psig", "suction-pressure")
    assert taken(pull)[-1] == ("suction-pressure", "118", "psig")
    assert pull.state.question is not None


def test_a_command_does_not_get_past_an_open_question(pull: Bench) -> None:
    pull.read(530)
    pull.read(4120)
    said = pull.say(i.Next())
    assert said == "Not taken: next. 4,120 microns? Say yes, no, or the value again."
    assert pull.state.step == "pull"


@pytest.mark.parametrize(
    "harmless", [i.Help(), i.WhatNow(), i.Repeat(), i.HowLongLeft(), i.WhereAreWe(), i.AskLast()]
)
def test_an_open_question_is_no_dead_end(pull: Bench, harmless: i.Intent) -> None:
    pull.read(530)
    pull.read(4120)
    assert pull.say(harmless)
    assert pull.state.question is not None


def test_a_badly_heard_value_is_asked_back(pull: Bench) -> None:
    text = pull.read(412, confidence=UNSURE)
    assert text == "412 microns? Say yes, no, or the value again."
    assert pull.events(e.Asked)[-1].why == "confidence"
    assert pull.events(e.LineHeard)[-1].outcome == "asked-back"
    assert taken(pull)[-1][0] != "vacuum"


def test_a_badly_heard_yes_is_no_yes(pull: Bench) -> None:
    pull.read(412, confidence=UNSURE)
    assert "Say yes" in pull.say(i.Yes(), confidence=UNSURE)
    assert pull.state.question is not None


def test_a_badly_heard_command_is_asked_back_and_done_after_yes(pull: Bench) -> None:
    at(pull, "stand")
    assert pull.say(i.StartHold(), confidence=UNSURE, words="start the hold") == (
        "Start the hold? Say yes or no.")
    assert pull.state.hold is None
    pull.say(i.Yes())
    assert pull.state.hold is not None


def test_noise_is_ignored_silently_but_logged(pull: Bench) -> None:
    assert pull.read(412, confidence=NOISE) == ""
    assert pull.events(e.LineHeard)[-1].outcome == "ignored"


def test_talk_that_is_not_for_us_is_ignored_unless_it_was_heard_well(pull: Bench) -> None:
    assert pull.say(i.NotUnderstood("?"), confidence=UNSURE, words="pass me the wrench") == ""
    assert pull.events(e.LineHeard)[-1].outcome == "ignored"
    assert pull.say(i.NotUnderstood("I know no such word.")) == "I know no such word."
    assert pull.events(e.LineHeard)[-1].outcome == "refused"


def test_two_readings_of_a_phrase_give_a_question(pull: Bench) -> None:
    reason = "1,210, or 12 and 10?"
    assert pull.say(i.NotUnderstood(reason, "two-ways")) == reason
    assert pull.events(e.LineHeard)[-1].outcome == "asked-back"


@pytest.mark.parametrize(
    ("intent", "sureness", "decision"),
    [
        (i.Next(), None, Decision.ACCEPT),
        (i.Next(), 1.0, Decision.ACCEPT),
        (i.Next(), confidence.ACCEPT_FROM, Decision.ACCEPT),
        (i.Next(), UNSURE, Decision.ASK),
        (i.WhatNow(), UNSURE, Decision.ACCEPT),
        (i.WhatNow(), NOISE, Decision.IGNORE),
        (i.NotUnderstood("?"), UNSURE, Decision.IGNORE),
        (i.NotUnderstood("?"), 1.0, Decision.ACCEPT),
    ],
)
def test_trust_is_decided_in_one_place(
    intent: i.Intent, sureness: float | None, decision: Decision
) -> None:
    assert decide(intent, sureness) is decision


@pytest.mark.parametrize(
    ("words", "decision"),
    [
        ("[unk]", Decision.IGNORE), ("[unk] next [unk]", Decision.IGNORE),
        ("log suction [unk]", Decision.ACCEPT), ("", Decision.ACCEPT),
    ],
)
def test_talk_mostly_outside_the_vocabulary_is_ignored(words: str, decision: Decision) -> None:
    assert decide(i.NotUnderstood("?"), 1.0, words) is decision
    assert decide(i.NotUnderstood("?"), None, words) is Decision.ACCEPT  # typed


@pytest.mark.parametrize(
    ("line", "told"),
    [
        ("line set length twenty two feet six", "Line set length 22 ft 6 in."),
        ("line set length forty inches", "Line set length 40 in."),
        ("line set length 22' 7.5\"", "Line set length 22 ft 7.5 in."),
        ("refrigerant amount seven pounds two ounces", "Refrigerant amount 7 lb 2 oz."),
        ("refrigerant amount one hundred fourteen ounces", "Refrigerant amount 114 oz."),
        ("charge added one pound two ounces", "Charge added 1 lb 2 oz."),
    ],
)
def test_a_value_is_read_back_in_the_units_that_were_said(
    pull: Bench, line: str, told: str
) -> None:
    assert pull.say(understand(line), words=line) == told


def test_two_units_are_kept_in_the_log_with_the_exact_value(pull: Bench) -> None:
    pull.say(understand("refrigerant amount seven pounds two ounces"))
    taken_now = pull.events(e.ReadingTaken)[-1]
    assert (taken_now.value, taken_now.unit) == ("114", "lb-oz")
    # avoirdupois ounce: 28.349523125 g exactly (NIST SP 811 App. B.8)
    assert taken_now.si == pytest.approx(114 * 0.028349523125, rel=1e-12)
    assert describe(taken_now) == "reading: refrigerant amount 7 lb 2 oz"
    assert pull.say(i.AskLast("refrigerant-amount")).startswith("Refrigerant amount: 7 lb 2 oz,")


def test_a_bare_number_corrects_no_value_of_two_units(pull: Bench) -> None:
    pull.say(understand("refrigerant amount seven pounds two ounces"))
    said = pull.say(i.ChangeReading("refrigerant-amount", Decimal(8)))
    assert said == "7 lb 2 oz: say the unit of the new value too."
    assert pull.say(understand("correction seven pounds four ounces")) == (
        "Refrigerant amount is now 7 lb 4 oz, not 7 lb 2 oz.")


def test_a_doubtful_value_in_two_units_is_asked_about_as_it_was_said(pull: Bench) -> None:
    said = pull.say(understand("refrigerant amount seventy pounds two ounces"))
    assert said.startswith("Refrigerant amount 70 lb 2 oz? The usual refrigerant amount is 0.5 to "
                           "60 lb.")
    assert pull.say(i.Next()).endswith(
        "Refrigerant amount 70 lb 2 oz? Say yes, no, or the value again.")
    pull.say(i.Yes())
    assert taken(pull)[-1] == ("refrigerant-amount", "1122", "lb-oz")


def test_two_units_for_a_pressure_are_refused_with_the_reason(pull: Bench) -> None:
    said = pull.say(i.Reading(Decimal(114), "lb-oz", "suction-pressure"))
    assert said.startswith("Suction pressure cannot be in pounds and ounces.")


def test_a_value_of_another_quantity_is_asked_back_with_its_name(pull: Bench) -> None:
    asked = pull.read(118, "microns", "suction-pressure")
    assert asked.startswith("Suction pressure 118 microns? The usual suction pressure is 0 to 350")
    doubt = i.NotUnderstood("Is that forty two, or four point two?", "two-ways")
    assert pull.say(doubt) == (
        "Is that forty two, or four point two? "
        "Suction pressure 118 microns? Say yes, no, or the value again."
    )


def test_another_reading_beside_an_open_question_is_taken_and_the_question_asked_again(
    pull: Bench
) -> None:
    pull.read(530)
    pull.read(4120)
    said = pull.read(95, None, "outdoor-temperature")
    assert said == ("Outdoor temperature 95 \u00b0F. "
                    "4,120 microns? Say yes, no, or the value again.")
    changed = i.ChangeReading("outdoor-temperature", Decimal(94))
    assert pull.say(changed).startswith("Outdoor temperature is now 94 \u00b0F, not 95 \u00b0F.")


def test_a_correction_to_the_same_value_changes_nothing(pull: Bench) -> None:
    pull.read(530)
    assert pull.say(i.Correction(Decimal(530))) == "Vacuum is 530 microns already."
    assert pull.events(e.ReadingCorrected) == []
