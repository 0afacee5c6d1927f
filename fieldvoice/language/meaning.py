"""Parse trees to intents: one method for each rule that computes or carries something."""
# ruff: noqa: D102  # a method is named for the grammar rule whose meaning it gives

from __future__ import annotations

from collections.abc import Iterator
from datetime import timedelta
from decimal import Decimal
from functools import cache
from typing import Any

from lark import Token

from fieldvoice.language import ambiguity, fact_meaning, intents, numbers, units
from fieldvoice.language.grammar import grammar
from fieldvoice.language.intents import Intent, NotUnderstood
from fieldvoice.language.measure import (
    TIME_UNITS,
    Day,
    Direction,
    Kind,
    Label,
    Measure,
    Option,
    Quantity,
    Reason,
    StageName,
    TestVerdict,
    Unit,
    Whose,
)
from fieldvoice.language.number_meaning import Parts, TimeMeaning, all_of, need, pick
from fieldvoice.language.refusals import REFUSALS, SAME_TWICE
from fieldvoice.quantity.quantities import meant_by


def _is_list(rule: str) -> bool:
    """Whether a rule only offers other rules or words, one by one, and vanishes from the tree."""
    alternatives = grammar().rules.get(rule, ())
    return bool(alternatives) and all(
        len(found.expansion) == 1 and found.options.expand1 for found in alternatives
    )


@cache
def names_under(rule: str) -> frozenset[str]:
    """The names that a list rule such as `quantity` or `unit` offers, through nested lists."""
    found: set[str] = set()
    for alternative in grammar().rules[rule]:
        if len(alternative.expansion) == 1:
            name = alternative.expansion[0].name
            found |= names_under(name) if _is_list(name) else {name}
    return frozenset(found)


# Those that carry something have a method of the rule's name in Meaning.
PLAIN = {cls.rule(): cls for cls in Intent.__subclasses__() if not cls.carries()}


class _DoubtMeaning(TimeMeaning):
    """Phrases that can be two numbers."""

    one_or_two = staticmethod(ambiguity.one_or_two)
    point_or_hundred = staticmethod(ambiguity.point_or_hundred)
    point_or_tens = staticmethod(ambiguity.point_or_tens)

    def range_of_hundreds(self, parts: Parts) -> ambiguity.Doubt:
        return ambiguity.range_of(parts, 100)

    def range_of_thousands(self, parts: Parts) -> ambiguity.Doubt:
        return ambiguity.range_of(parts, 1000)

    def part_of_hundred(self, parts: Parts) -> ambiguity.Doubt:
        return ambiguity.part_of(parts, 100)

    def part_of_thousand(self, parts: Parts) -> ambiguity.Doubt:
        return ambiguity.part_of(parts, 1000)

    def asked_two_ways(self, parts: Parts) -> NotUnderstood:
        kind, reason = REFUSALS["asked_two_ways"]
        return NotUnderstood(reason.format(doubt=need(parts, ambiguity.Doubt)), kind)

    def typed_two_ways(self, parts: Parts) -> ambiguity.Doubt:
        return need(parts, ambiguity.Doubt)


class _MeasureMeaning(_DoubtMeaning):
    """Values with their unit."""

    def measure(self, parts: Parts) -> Measure:
        whole = pick(parts, Measure)
        return whole or Measure(need(parts, Decimal), pick(parts, Unit))

    def below_zero(self, parts: Parts) -> Measure:
        return Measure(Decimal(0) - need(parts, Decimal), pick(parts, Unit))

    def feet_and_inches(self, parts: Parts) -> Measure:
        """One exact value, counted in inches: 22 ft 7 in has no exact decimal in feet."""
        whole = pick(parts, Measure)
        feet, inches = [Decimal(0), Decimal(0)] if whole else all_of(parts, Decimal)
        return whole or Measure(feet * 12 + inches, Unit("ft-in"))

    typed_feet_and_inches = feet_and_inches

    def inches(self, parts: Parts) -> Measure:
        return Measure(need(parts, Decimal), pick(parts, Unit))

    def pounds_and_ounces(self, parts: Parts) -> Measure:
        whole = pick(parts, Measure)
        pounds, ounces = [Decimal(0), Decimal(0)] if whole else all_of(parts, Decimal)
        return whole or Measure(pounds * 16 + ounces, Unit("lb-oz"))

    typed_pounds_and_ounces = pounds_and_ounces

    def pound_and_part(self, parts: Parts) -> Measure:
        return Measure(numbers.plus(all_of(parts, Decimal)), Unit("pounds"))


class Meaning(_MeasureMeaning, fact_meaning.FactMeaning):
    """A tree of any start rule to its Intent."""

    def __default_token__(self, token: Token) -> Any:
        if token.type in TIME_UNITS:
            return TIME_UNITS[token.type]
        if token.type in names_under("unit"):
            return Unit.named(token.type)
        return numbers.WORDS.get(token, token)

    def __default__(self, data: str, children: Parts, meta: object) -> Any:
        """Names of units, quantities, options and labels; every intent without fields."""
        if data in names_under("unit"):
            return Unit.named(data)
        if data in names_under("quantity"):
            return Quantity(data.replace("_", "-"))
        if data in names_under("option"):
            return Option(data.replace("_", "-"))
        if data.startswith("label_"):
            return Label(data.removeprefix("label_").replace("_", " "))
        if data.startswith("kind_"):
            return units.Kind(data.removeprefix("kind_"))
        if data.startswith("reason_"):
            return Reason(data.removeprefix("reason_").replace("_", " "))
        if data.startswith("stage_"):
            return StageName(data.removeprefix("stage_").replace("_", "-"))
        if data in names_under("test_end"):
            return TestVerdict(data.removeprefix("test_"))
        if data in names_under("change_voice"):
            return str(data)
        if data.startswith("sort_"):
            return Kind(data.removeprefix("sort_").replace("_", " "))
        if data in names_under("change_depth"):
            return str(data).replace("_", "-")
        if data in PLAIN:
            return PLAIN[data]()
        if data.startswith("fact_"):
            return fact_meaning.told(data, children)
        if data.startswith("about_"):
            return fact_meaning.About(data.removeprefix("about_").replace("_", "-"))
        if data.startswith(("letter_", "series_")):
            return fact_meaning.Sign(data.partition("_")[2].upper())
        if data in REFUSALS:
            return NotUnderstood(*reversed(REFUSALS[data]))
        return children[0] if len(children) == 1 else tuple(children)

    def reading(self, parts: Parts) -> intents.Reading:
        """From a quantity, a value and a unit in any order, or a reading that a rule below gave."""
        whole = pick(parts, intents.Reading)
        if whole:
            return whole
        said = need(parts, Measure) if pick(parts, Measure) else self.measure(parts)
        quantity = pick(parts, Quantity) or meant_by(said.unit)
        return intents.Reading(said.value, said.unit, quantity)

    typed_reading = reading
    typed_first_clause = reading

    def vacuum_was(self, parts: Parts) -> Quantity:
        """What a quantity with its verb names: "suction is at"."""
        return need(parts, Quantity)

    gauge_was = temperature_was = current_was = voltage_was = vacuum_was
    length_was = static_was = flow_was = speed_was = vacuum_was

    def readings(self, parts: Parts) -> Intent:
        """Several at once, each of another quantity; one named twice is asked back."""
        whole = pick(parts, intents.Readings) or pick(parts, NotUnderstood)
        if whole is not None:
            return whole
        found = tuple(_readings(parts))
        names = [one.quantity for one in found]
        for name in names:
            if name is not None and names.count(name) > 1:
                kind, reason = SAME_TWICE
                return NotUnderstood(reason.format(quantity=name.replace("-", " ")), kind)
        return intents.Readings(found)

    breath = readings

    def correction(self, parts: Parts) -> intents.Correction:
        said = need(parts, Measure)
        return intents.Correction(said.value, said.unit)

    def change_reading(self, parts: Parts) -> intents.ChangeReading:
        whole = pick(parts, intents.ChangeReading)
        if whole:
            return whole
        said = pick(parts, intents.Reading) or self.reading(parts)
        return intents.ChangeReading(said.quantity or "", said.value, said.unit)

    typed_change_reading = change_reading

    typed_readings = readings

    def skip(self, parts: Parts) -> intents.Skip:
        return intents.Skip(pick(parts, Reason))

    def SKIP_LINE(self, token: Token) -> Reason:
        return Reason(_after_opening(token, ("because", ":", ",", "-")))

    def photo(self, parts: Parts) -> intents.Photo:
        about = pick(parts, fact_meaning.About)
        return intents.Photo(about.replace("-", " ") if about else None)

    def NOTE_LINE(self, token: Token) -> intents.Note:
        return intents.Note(_after_opening(token, (":", "-", "\u2013", "\u2014")))

    def NOTE_WORDS(self, token: Token) -> intents.Note:
        return intents.Note(_after_opening(token, ("note",)))

    def choose(self, parts: Parts) -> intents.Choose:
        return intents.Choose(need(parts, Option))

    def start_hold(self, parts: Parts) -> intents.StartHold | NotUnderstood:
        lengths = set(all_of(parts, timedelta))
        if len(lengths) > 1:
            return NotUnderstood("Those are two lengths. Say the one that counts.", "two-ways")
        return intents.StartHold(pick(parts, timedelta), pick(parts, Reason))

    def start_timer(self, parts: Parts) -> intents.StartTimer:
        return intents.StartTimer(need(parts, timedelta), pick(parts, Label))

    def finish_job(self, _parts: Parts) -> intents.FinishJob:
        return intents.FinishJob()

    def stop_timer(self, parts: Parts) -> intents.StopTimer:
        return intents.StopTimer(pick(parts, Label))

    def add_time(self, parts: Parts) -> intents.AddTime:
        return intents.AddTime(need(parts, timedelta), pick(parts, Label))

    def how_long_left(self, parts: Parts) -> intents.HowLongLeft:
        return intents.HowLongLeft(pick(parts, Label))

    def ask_last(self, parts: Parts) -> intents.AskLast:
        return intents.AskLast(pick(parts, Quantity))

    def ask_forecast(self, parts: Parts) -> intents.AskForecast:
        said = pick(parts, Measure)
        return intents.AskForecast(said.value, said.unit) if said else intents.AskForecast()

    def unit_name(self, parts: Parts) -> units.UnitName:
        return pick(parts, units.UnitName) or units.named(parts[0], need(parts, Decimal))

    short_unit_name = unit_name

    def typed_unit_name(self, parts: Parts) -> units.UnitName:
        return units.named(parts[0], need(parts, Decimal), typed=True)

    def open_unit(self, parts: Parts) -> Intent:
        return units.opened(need(parts, units.UnitName))

    def begin_unit(self, parts: Parts) -> Intent:
        return pick(parts, Intent) or units.begun(need(parts, units.UnitName))

    def UNIT_LINE(self, token: Token) -> Intent:
        return units.begun_with(token)

    def for_unit(self, parts: Parts) -> Intent:
        return units.addressed(need(parts, units.UnitName), need(parts, Intent))

    def asked_for_unit(self, parts: Parts) -> NotUnderstood:
        return need(parts, NotUnderstood)

    def change_voice(self, parts: Parts) -> intents.ChangeVoice:
        return intents.ChangeVoice(str(parts[0]))

    # --- any order ---

    def go_to(self, parts: Parts) -> intents.GoTo:
        return intents.GoTo(need(parts, StageName), direction=pick(parts, Direction))

    def going_back(self, _parts: Parts) -> Direction:
        return Direction("back")

    def skip_stage(self, parts: Parts) -> intents.SkipStage:
        return intents.SkipStage(pick(parts, Reason))

    def carry_test(self, parts: Parts) -> intents.CarryTest:
        verdict = pick(parts, TestVerdict)
        return intents.CarryTest(need(parts, StageName), None if verdict == "done" else verdict,
                                 pick(parts, Day), pick(parts, Whose))

    def by_us(self, _parts: Parts) -> Whose:
        return Whose("the technician of this job")

    def said_when(self, parts: Parts) -> intents.SaidWhen:
        return intents.SaidWhen(need(parts, Day))

    def when_today(self, _parts: Parts) -> Day:
        return Day("0 days ago")

    def when_yesterday(self, _parts: Parts) -> Day:
        return Day("1 days ago")

    def when_days_ago(self, parts: Parts) -> Day:
        return Day(f"{need(parts, Decimal):f} days ago")

    def when_weeks_ago(self, parts: Parts) -> Day:
        return Day(f"{7 * need(parts, Decimal):f} days ago")

    def when_week_ago(self, _parts: Parts) -> Day:
        return Day("7 days ago")

    def DATE(self, token: Token) -> Day:
        return Day(str(token))

    def typed_date(self, parts: Parts) -> Day:
        return need(parts, Day)

    def reason_manual(self, _parts: Parts) -> Reason:
        return Reason("the unit's manual says so")

    def because(self, parts: Parts) -> intents.Because:
        return intents.Because(need(parts, Reason))

    def because_same(self, _parts: Parts) -> intents.Because:
        return intents.Because("same reason")


    def tell_fact(self, parts: Parts) -> intents.TellFact:
        told = need(parts, fact_meaning.Told)
        return intents.TellFact(told.fact, told.value or None)

    def ask_fact(self, parts: Parts) -> intents.AskFact:
        return intents.AskFact(pick(parts, fact_meaning.About))

    def ask_readings(self, parts: Parts) -> intents.AskReadings:
        return intents.AskReadings(pick(parts, Quantity))

    def ask_saturation(self, parts: Parts) -> intents.AskSaturation:
        said = pick(parts, Measure)
        side = pick(parts, Quantity)
        return intents.AskSaturation(side, said.value, said.unit) if said else (
            intents.AskSaturation(side))


    def change_depth(self, parts: Parts) -> intents.ChangeDepth:
        return intents.ChangeDepth(str(parts[0]))

    def prompted(self, parts: Parts) -> intents.PromptKind:
        return intents.PromptKind(str(need(parts, Kind)))

    def not_prompted(self, parts: Parts) -> intents.PromptKind:
        return intents.PromptKind(str(need(parts, Kind)), prompted=False)

    def prompt_kind(self, parts: Parts) -> intents.PromptKind:
        return need(parts, intents.PromptKind)

    def not_done(self, parts: Parts) -> intents.NotDone:
        number = pick(parts, Decimal)
        return intents.NotDone(None if number is None else int(number))

    def next_readings(self, parts: Parts) -> Intent:
        return pick(parts, NotUnderstood) or intents.NextReadings(tuple(_readings(parts)))

    def start_hold_at(self, parts: Parts) -> Intent:
        return pick(parts, NotUnderstood) or intents.StartHoldAt(tuple(_readings(parts)))


def _readings(parts: Parts) -> Iterator[intents.Reading]:
    """The readings in a part of a line, in the order said; a bare value is one of what is open."""
    for part in parts:
        if isinstance(part, intents.Reading):
            yield part
        elif isinstance(part, intents.Readings):
            yield from part.readings
        elif isinstance(part, Measure):
            yield intents.Reading(part.value, part.unit, meant_by(part.unit))


def _after_opening(line: str, marks: tuple[str, ...]) -> str:
    """What a typed line says after its opening word and the first mark."""
    lowered = line.lower()
    begin = min(lowered.index(mark) + len(mark) for mark in marks if mark in lowered)
    return line[begin:].strip()
