"""The procedure language: what can be written, and every fault with its place and advice."""

from __future__ import annotations

from decimal import Decimal

import pytest

from fieldvoice.procedure.check import check, load, ways
from fieldvoice.procedure.reader import parse, shipped
from fieldvoice.procedure.settings import Place, ProcedureError
from fieldvoice.procedure.sheet import sheet
from fieldvoice.procedure.step import Hold, Need
from fieldvoice.procedure.writer import write

GOOD = """\
procedure small "A small one"
intro "Let us begin."
limit deep = 500 microns source "common practice"
limit low = 1 psig source "common practice"
limit wait = 10 min source "common practice"
criterion strict "UFGS 15182 section 3.3.3"
  set deep = 300 microns
  set wait = 60 min
caution cold "Cold hands." acknowledge
begin with cold
stage work "Work"
step pull
  say "Pull below {limit.deep}."
  show "First line"
    "second line."
  why "Because."
  caution cold
  gate
  read nitrogen-pressure at least low
  read vacuum at most deep 2 times else go to stand
step stand
  say "Stand still, {vacuum.last}."
  hold wait "standing" ask vacuum at 0 1 2.5 min then every 5 min judge decay deep
  on tight go to ask
  on wet go to pull
  on leaking go to pull
  on not-yet-clear go to stand
step ask
  say "Bubbles, or no bubbles?"
  choose bubbles "a leak" then pull
  choose no-bubbles
step only-bubbles
  say "Look."
  only when ask is bubbles or no-bubbles
  repeat from ask until 3 times
step last
  say "Go."
  end good "Well done."
"""


def test_a_good_procedure_has_no_fault_and_keeps_every_part() -> None:
    procedure = load(GOOD)
    pull, stand = procedure.step("pull"), procedure.step("stand")
    assert pull.show == "First line second line."
    assert pull.needs[1] == Need("vacuum", None, "deep", 2, "stand", Place(20, 3))
    assert stand.hold == Hold("wait", "standing", "vacuum",
                              (Decimal(0), Decimal(1), Decimal("2.5")), Decimal(5), "decay",
                              "deep", Place(23, 3))
    assert procedure.limits["deep"].value == Decimal(500)
    assert procedure.step("last").ending is not None


def test_ways_count_the_step_below_only_where_it_can_follow() -> None:
    procedure = load(GOOD)
    assert ways(procedure, procedure.step("stand")) == ["ask", "pull", "stand"]
    assert ways(procedure, procedure.step("only-bubbles")) == ["ask", "last"]


def test_a_criterion_of_the_site_replaces_limits_and_names_its_document() -> None:
    procedure = load(GOOD).with_site({"criterion": "strict"})
    assert procedure.limits["deep"].value == Decimal(300)
    assert procedure.limits["deep"].source == "UFGS 15182 section 3.3.3"


def test_an_unknown_criterion_names_those_on_offer() -> None:
    with pytest.raises(ProcedureError, match="strict"):
        load(GOOD).with_site({"criterion": "none such"})


def test_a_site_may_give_a_limit_its_own_value() -> None:
    limit = load(GOOD).with_site({"deep": "0.4 torr", "refrigerant": "R-32"}).limits["deep"]
    assert (limit.value, limit.unit, limit.source) == (Decimal("0.4"), "torr", "given for this job")


@pytest.mark.parametrize("text", ["deep", "400", "400 psi", "400 min", "NaN microns", ""])
def test_a_limit_given_wrongly_says_how_to_give_it(text: str) -> None:
    with pytest.raises(ProcedureError, match="such as '500 microns'"):
        load(GOOD).with_site({"deep": text})


# what is replaced, by what, where the fault lies, and a word of what is said about it
FAULTS = [
    ('procedure small "A small one"\n', "", (1, 1), "procedure NAME"),
    ("limit deep = 500 microns", "limit deep = microns", (3, 14), "a number"),
    ("limit deep = 500 microns", "limit deep = 500 miles", (3, 1), "unknown unit miles"),
    ("limit deep = 500 microns", "limit deep 500 microns", (3, 12), "write ="),
    ('10 min source "common practice"', "10 min", (6, 1), "who sets the value"),
    ("set deep = 300 microns", "set depth = 300 microns", (7, 3), "unknown limit depth"),
    ("set wait = 60 min", "set wait = 60 psig", (8, 3), "does not fit"),
    ("begin with cold", "begin with hot", (10, 12), "unknown caution hot"),
    ("  caution cold\n", "", None, None),  # still given at the beginning
    ("  caution cold\n", "  caution wet\n", (17, 3), "unknown caution wet"),
    ('caution cold "Cold hands." acknowledge', 'caution cold "x" caution old "y"', (9, 18),
     "never given"),
    ('say "Pull below {limit.deep}."', 'show "Pull"', (14, 3), "second show"),
    ('  say "Go."\n', "", (36, 1), "says nothing"),
    ('say "Go."', 'say "one two three four five six seven eight nine ten eleven twelve more"',
     (37, 3), "13 words"),
    ('say "Go."', "say Go.", (37, 7), "double quotes"),
    ('say "Go."', 'say "Go.', (37, 7), "not closed"),
    ('say "Go."', 'say "Go {limit.depth}."', (37, 3), "means nothing"),
    ('say "Go."', 'say "Go {superheat.last}."', (37, 3), "may not be there yet"),
    ("read vacuum", "read vacume", (20, 3), "unknown quantity vacume"),
    ("at most deep", "at most deeper", (20, 3), "unknown limit deeper"),
    ("at least low", "at least wait", (19, 3), "wait is in min"),
    ("2 times", "0 times", (20, 28), "whole number"),
    ("else go to stand", "else go to stood", (20, 3), "unknown step stood"),
    ("at most deep 2 times", "2 times", (20, 3), "no limit"),
    ("hold wait", "hold low", (23, 3), "low is in psig"),
    ("at 0 1 2.5 min", "at 2 1 min", (23, 24), "do not grow"),
    ("judge decay deep", "judge rot deep", (23, 3), "nothing is judged"),
    ("judge decay deep", "judge decay wait", (23, 3), "wait is in min"),
    ("  on wet go to pull\n", "", (23, 3), "no way on for wet"),
    ("on wet go", "on damp go", (23, 3), "no way on for wet"),
    ("  on wet go to pull\n", "  on wet go to pull\n  on wet go to ask\n", (26, 3),
     "leads two ways"),
    ("judge decay deep", "", (24, 3), "judges nothing"),
    ("on tight go to ask", "on tight go to asking", (24, 3), "unknown step asking"),
    ("  choose no-bubbles\n", "", (30, 3), "only one choice"),
    ("only when ask is", "only when asks is", (34, 3), "no step with choices"),
    ("is bubbles or", "is bubble or", (34, 3), "no choice bubble"),
    ("repeat from ask", "repeat from asks", (35, 3), "unknown step asks"),
    ('  end good "Well done."\n', "", (36, 1), "leads nowhere"),
    ("step last", "step pull", (36, 1), "already there"),
    ('end good "Well done."', "go to pull", (12, 1), "no ending can be reached"),
    ("  choose no-bubbles\n", "  choose no-bubbles then pull\n", (32, 1), "never reached"),
    ("hold wait", "holds wait", (23, 3), "cannot stand here"),
]


@pytest.mark.parametrize(("old", "new", "place", "words"), FAULTS)
def test_every_fault_has_its_place_and_says_what_to_do(
    old: str, new: str, place: tuple[int, int] | None, words: str | None
) -> None:
    assert old in GOOD
    text = GOOD.replace(old, new, 1)
    if place is None:
        assert check(parse(text)) == []
        return
    with pytest.raises(ProcedureError) as found:
        load(text)
    assert words is not None
    assert words in str(found.value)
    assert (found.value.line, found.value.column) == place
    assert found.value.advice


CHECKED = """\
procedure checked "A check"
limit target = 10 delta-degF source "common practice"
stage work "Work"
step read-it
  say "Read."
  read liquid-pressure
  read liquid-temperature
  check subcooling target
  on on-target go to last
  on high go to read-it
  on low go to read-it
  on not-known go to last
step last
  say "Last."
  end done
"""


@pytest.mark.parametrize(
    ("old", "new", "words"),
    [
        ("check subcooling target", "check subcool target", "nothing is checked as subcool"),
        ("check subcooling target", "check subcooling", "without a target"),
        ("10 delta-degF", "10 degF", "target is in degF"),
        ("  on low go to read-it\n", "", "no way on for low"),
        ("on low", "on cold", "cold is no verdict"),
        ("  read liquid-pressure\n", "", "before liquid-pressure is read"),
        ("check subcooling", 'hold target "x" check subcooling', "a hold and a check"),
    ],
)
def test_a_check_is_checked(old: str, new: str, words: str) -> None:
    assert check(parse(CHECKED)) == []
    assert words in " ".join(str(fault) for fault in check(parse(CHECKED.replace(old, new, 1))))


def test_an_empty_file_says_how_to_begin() -> None:
    with pytest.raises(ProcedureError, match="begin the file with"):
        parse("")


def test_an_unknown_shipped_procedure_names_those_there_are() -> None:
    with pytest.raises(FileNotFoundError, match="evacuate-and-release"):
        shipped("none-such")


def test_a_step_can_be_prompted_always_or_done_once_a_job_and_is_written_so() -> None:
    text = ('procedure p "P"\nstage s "S"\nstep a\n  say "Do it."\n  always\n'
            'step b\n  say "Go."\n  once\n  end done\n')
    found = parse(text)
    assert [(s.always, s.once) for s in found.steps] == [(True, False), (False, True)]
    again = parse(write(found))
    assert [(s.always, s.once) for s in again.steps] == [(True, False), (False, True)]
    assert check(found) == []
    for word in ("always prompted by itself", "once a job"):
        assert word in sheet(found)
