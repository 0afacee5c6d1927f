"""Lines about units: a name is never taken for a number, nor a number for a part of a name."""

import pytest

from fieldvoice.language.grammar import grammar
from fieldvoice.language.intents import BeginUnit, ForUnit, Intent, NotUnderstood, OpenUnit, Reading
from fieldvoice.language.parser import sounds_like_a_range, understand
from support.phrase_tables import rows, said_for_unit

NOT_ADDRESSED = {  # these are the whole job's, or need no unit
    "open_unit", "begin_unit", "for_unit", "ask_units", "typed_note", "stand_by", "back_to_work",
    "change_voice", "change_depth", "prompt_kind",
}  # fmt: skip


@pytest.mark.parametrize("typed", [True, False], ids=["typed", "heard"])
@pytest.mark.parametrize("row", rows("units"), ids=lambda row: row["phrase"])
def test_a_line_about_units_means_what_the_table_says(row, typed):
    intent = understand(row["phrase"], typed=typed)
    found = (intent.name(), getattr(intent, "unit", ""), said_for_unit(intent))
    assert found == (row["intent"], row["unit"] or "", row["said"] or "")


@pytest.mark.parametrize(
    ("line", "intent"),
    [
        ("unit 2", OpenUnit("unit two")),
        ("sys 2", OpenUnit("unit two")),
        ("idu 3", OpenUnit("indoor three")),
        ("odu 1", OpenUnit("outdoor unit one")),
        ("new unit 2", BeginUnit("unit two")),
        ("new unit 2 evacuate-and-hold", BeginUnit("unit two", "evacuate-and-hold")),
        ("begin indoor unit three with nitrogen-test", BeginUnit("indoor three", "nitrogen-test")),
        ("unit 2 412 microns", ForUnit("unit two", understand("412 microns"))),
        ("unit 2: 45", ForUnit("unit two", understand("45"))),
        ("unit 20 410", ForUnit("unit twenty", understand("410"))),
    ],
)
def test_units_can_be_typed_in_figures(line, intent):
    assert understand(line) == intent


@pytest.mark.parametrize("line", ["outdoor two", "outdoor ninety five"])
def test_outdoor_alone_stays_a_temperature(line):
    assert isinstance(understand(line), Reading)


def test_what_can_be_said_can_be_said_for_a_unit():
    named = (*grammar().rules["addressed"], *grammar().rules["typed_addressed"])
    addressed = {rule.expansion[0].name for rule in named} - {"typed_addressed"}
    plain = {rule for rule in grammar().starts if not rule.startswith("asked_")}
    assert addressed == plain - NOT_ADDRESSED


def test_a_line_for_a_unit_comes_back_from_its_plain_form():
    intent = understand("unit two vacuum four ten")
    assert Intent.from_dict(intent.to_dict()) == intent


def test_a_number_behind_a_unit_can_sound_like_a_range_too():
    assert sounds_like_a_range("unit three five two eight")
    assert not sounds_like_a_range("unit two eight hundred microns")


def test_no_time_is_no_time_for_a_unit_either():
    assert isinstance(understand("unit 2 add 0 minutes"), NotUnderstood)


@pytest.mark.parametrize(
    "line",
    ["refrigerant is r four ten a", "liquid line 3/8", "start the hold at 445 psig", "list done",
     "understood and done", "done design pressure 450 psig", "okay", "go to evacuation",
     "what's the total charge", "lowest vacuum"],
)  # fmt: skip
def test_what_is_seldom_said_can_be_typed_for_a_unit(line):
    assert understand(f"unit 2 {line}") == ForUnit("unit two", understand(line))
