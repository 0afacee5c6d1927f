"""Facts told while the work goes on: checked, read back, followed by all that rests on them."""

from __future__ import annotations

import re
from decimal import Decimal

import pytest

from fieldvoice.dialogue.facts.settle import FactError
from fieldvoice.jobstate import events as e
from fieldvoice.jobstate.state import fold
from fieldvoice.language import intents as i
from fieldvoice.language.parser import understand
from fieldvoice.procedure.check import load
from fieldvoice.procedure.reader import shipped
from fieldvoice.quantity.constants import PA_PER_PSI
from fieldvoice.trade.refrigerant.refrigerants import names
from support.bench import Bench
from support.every_sort import TEXT, UNSURE, at
from support.small_procedure import TEXT as SMALL

CRITERIA = SMALL.replace("caution no-oxygen", """criterion strict "A document"
  set deep-vacuum = 300 microns
criterion short "Another document"
  set hold-time = 5 min
caution no-oxygen""", 1)
SPOKEN = {"refrigerant-class": "mildly-flammable"}


def tell(bench: Bench, line: str, confidence: float | None = None, clip: str | None = None) -> str:
    """A line as it is typed or heard."""
    intent = understand(line, typed=confidence is None)
    return bench.say(intent, words=line, confidence=confidence, clip=clip)


def told(bench: Bench) -> list[tuple[str, str]]:
    """Facts as they were logged."""
    return [(v.fact, v.value) for v in bench.events(e.FactTold) if isinstance(v, e.FactTold)]


def at_plate(**site: str) -> Bench:
    """A job at the amount on the nameplate."""
    bench = Bench(load(shipped("make-safe")), site)
    while bench.state.step != "refrigerant-amount":
        bench.say(i.Understood())
        bench.say(i.Next())
    return bench


@pytest.fixture
def pull() -> Bench:
    return at(Bench(TEXT), "pull")


# --- told, replaced, taken back ----------------------------------------------------------------


def test_a_refrigerant_is_read_back_with_what_hurts_when_it_is_wrong(pull: Bench) -> None:
    assert tell(pull, "refrigerant R-454B") == "R-454B, class A2L, mildly flammable."
    assert pull.state.facts["refrigerant"] == "R-454B"
    assert tell(pull, "correction r four ten a", 1.0) == (
        "R-410A, class A1, not flammable, not R-454B.")
    assert told(pull) == [("refrigerant", "R-454B"), ("refrigerant", "R-410A")]
    assert pull.state.step == "pull"


def test_what_is_known_already_is_said_and_not_logged_again(pull: Bench) -> None:
    tell(pull, "R410A")
    assert tell(pull, "r four ten a", 1.0) == "Refrigerant is R-410A already."
    assert len(told(pull)) == 1


def test_a_fact_is_taken_back_and_put_back(pull: Bench) -> None:
    tell(pull, "R-32")
    tell(pull, "R-410A")
    assert "Took back refrigerant R-410A" in pull.say(i.TakeBack())
    assert pull.state.facts["refrigerant"] == "R-32"
    pull.say(i.PutBack())
    assert pull.state.facts["refrigerant"] == "R-410A"
    pull.say(i.TakeBack())
    pull.say(i.TakeBack())
    assert "refrigerant" not in pull.state.facts
    assert pull.refolded() == pull.state


def test_an_unknown_refrigerant_is_refused_with_the_known_ones(pull: Bench) -> None:
    tell(pull, "refrigerant R-999")
    said = pull.replies[0].text
    assert all(name in said for name in names())
    assert "R-999" in said
    assert not told(pull)


def test_a_fact_not_heard_for_sure_counts_after_a_yes(pull: Bench) -> None:
    assert tell(pull, "r thirty two", UNSURE) == "Refrigerant R-32? Say yes or no."
    assert not told(pull)
    pull.say(i.Repeat())
    pull.say(i.Yes())
    assert told(pull) == [("refrigerant", "R-32")]
    tell(pull, "r twenty two", UNSURE)
    pull.say(i.No())
    assert told(pull) == [("refrigerant", "R-32")]


def test_a_fact_told_while_a_question_is_open_counts_and_the_question_is_asked_again(
    pull: Bench
) -> None:
    pull.read(300000)  # surprising
    assert pull.state.question is not None
    said = tell(pull, "refrigerant R-32")
    assert "R-32, class A2L" in said
    assert said.endswith("Say yes, no, or the value again.")
    assert pull.state.question is not None
    assert told(pull) == [("refrigerant", "R-32")]


# --- all that rests on a fact follows it -------------------------------------------------------


def test_gauges_count_from_the_air_that_was_told(pull: Bench) -> None:
    pull.read(100, "psig", "suction-pressure")
    # US Standard Atmosphere 1976 at 5,280 ft: 24.63 inHg, 12.10 psia
    said = tell(pull, "altitude five thousand two hundred eighty feet", 1.0)
    assert said == "Altitude 5,280 ft. Readings count from air at 24.6 inHg absolute from here on."
    pull.read(101, "psig", "suction-pressure")
    before, after = (r.si / PA_PER_PSI for r in pull.state.readings[-2:])
    assert before == pytest.approx(114.7, abs=0.05)
    assert after == pytest.approx(113.1, abs=0.05)


def test_degrees_mean_what_was_told(pull: Bench) -> None:
    tell(pull, "work in celsius", 1.0)
    pull.say(i.Reading(Decimal(20), "degrees", "ambient-temperature"))
    assert pull.state.readings[-1].now.unit == "degC"


def test_a_criterion_told_late_sets_the_limits_and_another_one_starts_from_the_procedures_own(
) -> None:
    bench = Bench(CRITERIA)
    bench.say(i.Understood())
    bench.say(i.TellFact("criterion", "strict"))
    assert str(bench.state.limit("deep-vacuum")) == "300 microns"
    bench.say(i.TellFact("criterion", "short"))
    assert str(bench.state.limit("deep-vacuum")) == "500 microns"
    assert str(bench.state.limit("hold-time")) == "5 min"
    bench.say(i.TakeBack())
    bench.say(i.TakeBack())
    assert str(bench.state.limit("deep-vacuum")) == "500 microns"
    assert str(bench.state.limit("hold-time")) == "10 min"


def test_a_criterion_that_the_procedure_lacks_is_refused(pull: Bench) -> None:
    assert tell(pull, "criterion two hours") == "This procedure has no criterion to choose."
    bench = Bench(CRITERIA)
    assert "Give one of strict, short." in tell(bench, "criterion two hours")
    assert not told(bench)


def test_the_charge_correction_is_worked_out_from_facts_that_were_told(pull: Bench) -> None:
    # the same job as with --site: published installation guide, 3/8 line, 0.60 oz/ft
    pull.read(30, "ft", "line-length")
    for line in ("r four ten a", "liquid line three eighths", "lines covered fifteen feet",
                 "adder point six ounces a foot"):
        tell(pull, line, 1.0)
    assert "Weigh in 9.0 ounces" in pull.say(i.AskCharge())
    tell(pull, "covered charge twelve ounces", 1.0)  # the word said last counts
    assert "Weigh in 6.0 ounces" in pull.say(i.AskCharge())


def test_an_ambient_told_at_the_start_counts_until_one_is_read() -> None:
    from fieldvoice.dialogue.hold_verdict import ambient_c

    bench = Bench(TEXT, {"ambient": "72 degF"})
    assert ambient_c(bench.state) == pytest.approx(22.22, abs=0.01)
    tell(bench, "ambient 50")
    assert ambient_c(bench.state) == pytest.approx(10.0, abs=0.01)


# --- asked by the step that needs them ---------------------------------------------------------


def test_the_refrigerant_on_the_plate_answers_its_class_too() -> None:
    bench = at_plate()
    bench.read(3, "lb")
    assert bench.state.step == "refrigerant"
    assert bench.say(i.Next()).startswith("I need the refrigerant. Say, for example: refrigerant")
    tell(bench, "r four fifty four b", 1.0)
    assert bench.state.answer("refrigerant-class") == "mildly-flammable"
    assert bench.state.step == "no-flame"  # one line, not two


def test_a_refrigerant_known_before_is_not_asked_and_the_plate_still_answers_for_its_class(
) -> None:
    bench = at_plate(refrigerant="R-454B")
    bench.read(3, "lb")
    assert bench.state.step == "refrigerant-class"
    early = at_plate()
    tell(early, "R-32")
    early.read(3, "lb")
    assert early.state.step == "refrigerant-class"
    assert "mildly flammable, and you said not flammable" in early.say(i.Choose("not-flammable"))


def test_a_refrigerant_that_is_skipped_leaves_its_class_to_be_asked() -> None:
    bench = at_plate()
    bench.read(3, "lb")
    bench.say(i.Skip("unknown refrigerant"))
    assert bench.state.step == "refrigerant-class"


def test_back_asks_for_the_fact_again() -> None:
    bench = at_plate()
    bench.read(3, "lb")
    tell(bench, "R-410A")
    assert bench.state.step == "ready"
    bench.say(i.Back())
    assert bench.state.step == "refrigerant"
    assert "refrigerant" not in bench.state.facts
    tell(bench, "R-32")
    assert bench.state.answer("refrigerant-class") == "mildly-flammable"


def test_taking_back_the_plate_opens_its_step_again() -> None:
    bench = at_plate()
    bench.read(3, "lb")
    tell(bench, "R-410A")
    assert "Took back refrigerant R-410A" in bench.say(i.TakeBack())
    assert bench.state.step == "refrigerant"


def test_a_plate_charge_given_at_the_start_is_read_already() -> None:
    bench = Bench(load(shipped("make-safe")),
                  {"plate-charge": "7 lb", "refrigerant": "R-32"})
    while bench.state.step != "refrigerant-class":
        bench.say(i.Understood())
        bench.say(i.Next())
    last = bench.state.last("refrigerant-amount")
    assert last is not None
    assert last.si == pytest.approx(7 * 0.45359237)


def at_charge_way(**site: str) -> Bench:
    """A job at the question of the charge for the line set."""
    text = shipped("evacuate-and-release")
    head, tail = re.split(r'stage charge "Correct the charge"\n(?:  (?:called|needs) .*\n)*', text)
    cautions = "".join(p for p in re.split(r"(?=^caution |^include |^stage )", head, flags=re.M)
                       if p.startswith(("caution valves", "caution no-venting")))
    charge = tail.split("stage cores")[0]
    return Bench(
        f'procedure trim "Trim"\n{cautions}stage charge "Correct the charge"\n'
        f'step line-length\n  say "Tell me the line set length."\n  read line-length\n{charge}'
        'step purge-tools\n  say "Purge."\n  end done "Done."\n', site)


def test_the_charge_correction_asks_for_what_it_needs_and_only_when_it_is_made() -> None:
    bench = at_charge_way(refrigerant="R-410A")
    bench.read(30, "ft")
    tell(bench, "weigh in")
    assert bench.state.step == "liquid-size"
    tell(bench, "liquid line three eighths", 1.0)
    assert bench.state.step == "covered"
    assert "I need the covered length" in bench.say(i.Next())
    tell(bench, "covered charge nine ounces", 1.0)  # does in its place
    assert bench.state.step == "adder"
    tell(bench, "adder point six ounces a foot", 1.0)
    assert bench.state.step == "charge-add"
    bench.say(i.Understood())
    tell(bench, "charge added nine ounces")
    assert bench.state.step == "purge-tools"  # not charge-out
    none = at_charge_way(refrigerant="R-410A")
    none.read(30, "ft")
    tell(none, "no charge needed")
    assert none.state.step == "purge-tools"


def test_a_charge_to_be_recovered_asks_nothing_that_is_known() -> None:
    site = {"liquid-line": "3/8", "covered-length": "15 ft", "adder": "0.6 oz/ft"}
    bench = at_charge_way(**site)
    bench.read(5, "ft")
    tell(bench, "recover")
    assert bench.state.step == "charge-out"


# --- contradictions ----------------------------------------------------------------------------


def test_a_refrigerant_against_the_class_that_was_said_is_asked_about() -> None:
    bench = at_plate()
    bench.read(3, "lb")
    bench.say(i.Skip("unknown refrigerant"))
    bench.say(i.Choose("not-flammable"))
    asked = tell(bench, "R-32")
    assert asked == ("R-32 is class A2L, mildly flammable, and you said not flammable. "
                     "Is it R-32? Say yes or no.")
    assert not told(bench)
    said = bench.say(i.Yes())
    assert told(bench) == [("refrigerant", "R-32")]
    assert bench.state.answer("refrigerant-class") == "mildly-flammable"
    assert said.startswith("It burns: mildly flammable. Before all else: Take every flame")
    assert bench.tones[0] == "alert"


def test_a_milder_refrigerant_leaves_the_stricter_word_in_force() -> None:
    bench = at_plate()
    bench.read(3, "lb")
    bench.say(i.Skip("unknown refrigerant"))
    bench.say(i.Choose("highly-flammable"))
    tell(bench, "R-32")
    bench.say(i.Yes())
    assert bench.state.answer("refrigerant-class") == "highly-flammable"


def test_a_class_told_as_a_fact_before_its_step_gives_way_to_the_stricter() -> None:
    bench = at_plate()
    tell(bench, "refrigerant-class = not-flammable")
    assert "you said not flammable" in tell(bench, "R-32")
    bench.say(i.Yes())
    assert bench.state.facts["refrigerant-class"] == "mildly-flammable"
    bench.resume()
    bench.read(3, "lb")
    assert bench.state.step == "no-flame"


def test_a_barometer_of_sea_level_in_the_mountains_is_refused(pull: Bench) -> None:
    tell(pull, "altitude 5280 ft")
    said = tell(pull, "barometer 29.9 inHg")
    assert "the air stands at about 24.6 inHg" in said
    assert told(pull) == [("altitude", "5280 ft")]
    assert "Barometer 24.8 inHg" in tell(pull, "barometer 24.8 inHg")


def test_another_amount_on_the_plate_is_read_back(pull: Bench) -> None:
    pull.read(6, "lb", "refrigerant-amount")
    asked = tell(pull, "plate charge seven pounds", 1.0)
    assert "The plate charge was 6 lb before." in asked
    pull.say(i.No())
    last = pull.state.last("refrigerant-amount")
    assert last is not None
    assert last.now.value == 6


@pytest.mark.parametrize(
    ("line", "named"),
    [
        ("altitude 60000 ft", "I take -1,400 to 20,000 ft"),
        ("altitude 5 lb", "is not known as a length"),
        ("liquid line 3/16", "is no liquid line size"),
        ("refridgerant = R-32", "Did you mean refrigerant?"),
        ("suction colour = 118", "No fact is called 'suction"),
        ("adder 40 oz/ft", "I take 0.05 to 5 oz/ft"),
        ("temperature-unit = kelvin", "Give one of degF, degC"),
        ("class = fammable", "Did you mean flammable?"),
        ("deep = 5 ft", "not known as a pressure"),
        ("barometer 5 psig", "absolute pressure"),
    ],
)
def test_what_cannot_be_is_refused_with_the_reason(pull: Bench, line: str, named: str) -> None:
    assert named in tell(pull, line)
    assert not told(pull)
    assert pull.events(e.LineHeard)[-1].outcome == "refused"  # type: ignore[attr-defined]


def test_an_unknown_refrigerant_is_refused_in_few_words_aloud(pull: Bench) -> None:
    tell(pull, "r five hundred", 1.0)
    assert pull.text == "I do not know R-500. Say the refrigerant again, or skip."
    assert "R-600a" in pull.replies[0].text


def test_a_fact_said_again_answers_the_question_about_it(pull: Bench) -> None:
    tell(pull, "r thirty two", UNSURE)
    tell(pull, "r four ten a", 1.0)
    assert pull.state.question is None
    assert told(pull) == [("refrigerant", "R-410A")]
    tell(pull, "technician", 1.0)
    tell(pull, "technician Ann Lee")
    assert pull.state.question is None
    assert pull.state.facts["technician"] == "Ann Lee"


def test_an_answer_written_with_the_name_of_its_step() -> None:
    bench = at(Bench(TEXT), "class")
    tell(bench, "class = flammable")
    assert bench.state.answer("class") == "flammable"
    assert bench.state.step == "clear-area"
    assert "was answered in the job: flammable" in tell(bench, "class = not flammable")
    assert not told(bench)


# --- names and numbers -------------------------------------------------------------------------


def test_a_name_that_is_spoken_is_kept_as_sound_until_it_is_typed(pull: Bench) -> None:
    assert tell(pull, "technician", 1.0) == "The technician? Say or type it, or say no."
    assert pull.state.expects_free_text
    heard = i.NotUnderstood("What?", "unknown")
    assert pull.say(heard, words="[unk] [unk]", confidence=0.2, clip="clips/7.flac") == (
        "Technician: kept as sound.")
    line = pull.state.told["technician"].line
    heard_line = pull.state.history.line(line)
    assert heard_line is not None
    assert heard_line.clip == "clips/7.flac"
    assert tell(pull, "technician Ann Lee") == "Technician: Ann Lee, not kept as sound."


def test_a_name_can_be_left_out_and_is_no_command_meanwhile(pull: Bench) -> None:
    tell(pull, "customer", 1.0)
    assert tell(pull, "no") == "All right, not told."
    tell(pull, "customer")
    assert tell(pull, "finish the job").startswith("Not taken: finish the job. The customer?")
    assert told(pull) == []
    assert not pull.state.finished


def test_an_equipment_number_is_spelt_by_the_radio_alphabet(pull: Bench) -> None:
    assert tell(pull, "equipment number alfa hotel uniform two", 1.0) == "Equipment number: AHU2."


# --- asked for ---------------------------------------------------------------------------------


def test_what_is_known_can_be_asked_for(pull: Bench) -> None:
    assert "was not told. Say, for example: refrigerant is" in tell(pull, "what's the refrigerant")
    assert tell(pull, "what do you know").startswith("I was told no facts yet.")
    tell(pull, "R-32")
    tell(pull, "adder 0.6 oz/ft")
    assert tell(pull, "what's the adder") == "Adder: 0.6 ounces a foot."
    assert tell(pull, "what do you know") == "Refrigerant R-32; adder 0.6 ounces a foot."


# --- when work goes on -------------------------------------------------------------------------


def resume(bench: Bench, **told_now: str) -> str:
    from fieldvoice.dialogue import assistant

    bench.take_in(assistant.resume(bench.state, bench.now, told_now))
    return bench.text


def test_facts_given_when_work_goes_on_are_events(pull: Bench) -> None:
    said = resume(pull, refrigerant="r454b", altitude="5280ft")
    assert "R-454B, class A2L, mildly flammable." in said
    assert told(pull) == [("refrigerant", "R-454B"), ("altitude", "5280 ft")]
    resume(pull, refrigerant="R-454B", altitude="5280ft")
    assert len(told(pull)) == 2


@pytest.mark.parametrize(
    ("facts", "named"),
    [
        ({"refrigerant": "R-999"}, "I do not know refrigerant"),
        ({"altitude": "up"}, "Altitude is 'up'"),
        ({"class": "flammable"}, "Class was answered in the job: not flammable"),
        ({"plate-charge": "7 lb"}, "was read in the job as 6 lb"),
        ({"colour": "red"}, "No fact is called 'colour'"),
    ],
)
def test_facts_that_the_job_refuses_leave_it_as_it_is(
    pull: Bench, facts: dict[str, str], named: str
) -> None:
    pull.read(6, "lb", "refrigerant-amount")
    before = list(pull.log)
    with pytest.raises(FactError, match=named):
        resume(pull, **facts)
    assert pull.log == before


def test_a_log_whose_fact_does_not_fit_its_procedure_cannot_be_folded() -> None:
    bench = Bench(CRITERIA)
    entry = e.Entry(bench.state.next_seq, bench.now, e.FactTold("criterion", "none such"))
    with pytest.raises(ValueError, match="no criterion is called"):
        fold(bench.state, [entry])
