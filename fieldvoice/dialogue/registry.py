"""What is done with each intent: the one table; a test fails where an intent lacks anything.

The class stands in language/intents.py, its docstring says what it is for. The rule of its name in
grammar/commands.lark says how it is said, the heading above that rule where help shows it, the
remarks beside its alternatives how: phrase_guide.py reads all three.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from fieldvoice.dialogue import (
    answers,
    attention,
    choosing,
    corrections,
    holds,
    leaving,
    queries,
    record_reading,
    status,
    steps,
)
from fieldvoice.dialogue.depth import changing, list_lines, one_word
from fieldvoice.dialogue.facts import asking, telling
from fieldvoice.dialogue.order import answers as order_answers
from fieldvoice.dialogue.order import carry_over, jump, open_steps
from fieldvoice.dialogue.questions import left, saturation, split, totals
from fieldvoice.dialogue.turn import Turn
from fieldvoice.dialogue.units import alone
from fieldvoice.language import intents as i

Handler = Callable[[Turn, Any], None]


@dataclass(frozen=True)
class Registered:
    """How the assistant treats one intent."""

    intent: type[i.Intent]
    handler: Handler
    only_reads: bool  # changes no reading and no step: heard wrongly it costs nothing, never asked
    after_end: bool  # makes sense after the job was closed
    keeps_question: bool  # is answered as ever while a question is open, which stays open
    asks_itself: bool = False  # its handler asks back what was not heard for sure, with the value


def _plain(handler: Callable[[Turn], None]) -> Handler:
    """The handler of an intent that carries nothing."""
    return lambda turn, _intent: handler(turn)


def _changes(intent: type[i.Intent], handler: Handler, *, asks_itself: bool = False) -> Registered:
    """An intent that changes the job: asked back when not heard for sure, refused after the end."""
    return Registered(intent, handler, False, False, False, asks_itself)


def _reads(intent: type[i.Intent], handler: Handler, *, after_end: bool = True) -> Registered:
    """An intent that is only answered."""
    return Registered(intent, handler, True, after_end, True)


REGISTRY: tuple[Registered, ...] = (
    # readings and their repair
    _changes(i.Reading, record_reading.record, asks_itself=True),
    _changes(i.Readings, record_reading.record_all, asks_itself=True),
    _changes(i.Correction, corrections.change, asks_itself=True),
    _changes(i.ChangeReading, corrections.change, asks_itself=True),
    _changes(i.TakeBack, _plain(corrections.take_back)),
    _changes(i.PutBack, _plain(corrections.put_back)),
    # answers
    _changes(i.Yes, answers.yes_or_no),
    _changes(i.No, answers.yes_or_no),
    _changes(i.NeverMind, _plain(answers.never_mind)),
    _changes(i.Understood, _plain(answers.understood)),
    Registered(i.NotUnderstood, answers.not_understood, False, True, False),
    # steps
    _changes(i.Next, _plain(steps.next_step)),
    _changes(i.Okay, _plain(steps.okay)),
    _changes(i.Back, _plain(steps.back)),
    _changes(i.Skip, leaving.skip),
    _changes(i.NotApplicable, leaving.not_applicable),
    _changes(i.Choose, lambda turn, intent: choosing.choose(turn, intent.option)),
    _reads(i.Repeat, _plain(status.repeat)),
    _reads(i.WhatNow, _plain(status.what_now)),
    _reads(i.WhereAreWe, _plain(status.where)),
    _reads(i.Why, _plain(status.why), after_end=False),
    _reads(i.Help, _plain(status.help_now)),
    # holds and timers
    _changes(i.StartHold, holds.start_hold),
    _changes(i.StartTimer, holds.start_timer),
    _changes(i.StopTimer, holds.stop),
    _changes(i.AddTime, holds.add_time),
    _reads(i.HowLongLeft, holds.how_long_left),
    # notes
    _reads(i.StartNote, _plain(attention.start_note)),
    _changes(i.EndNote, _plain(attention.end_note)),
    _reads(i.Photo, attention.photo),
    Registered(i.Note, attention.note, False, True, True),
    # questions
    _reads(i.AskLast, queries.last),
    _reads(i.AskElapsed, queries.elapsed),
    _reads(i.AskVerdict, queries.verdict),
    _reads(i.AskForecast, queries.forecast),
    _reads(i.AskTargetSuperheat, queries.target_superheat),
    _reads(i.AskSuperheat, queries.superheat),
    _reads(i.AskSubcooling, queries.subcooling),
    _reads(i.AskCharge, queries.charge_correction),
    _reads(i.AskBoilingPoint, queries.boiling_point),
    # facts of the place, and totals
    Registered(i.TellFact, telling.tell, False, False, True, True),
    _reads(i.AskFact, asking.fact),
    _reads(i.AskChargeTotal, totals.charge_added),
    _reads(i.AskLowestVacuum, totals.lowest_vacuum),
    _reads(i.AskReadings, totals.readings),
    _reads(i.AskOpenSteps, left.open_steps),
    _reads(i.AskSkipped, _plain(open_steps.ask_skipped)),
    _reads(i.AskSaturation, saturation.at_pressure),
    _reads(i.AskSplit, split.verdict),
    # how much is said, and what belongs together in one line
    Registered(i.ChangeDepth, changing.change_depth, False, False, True),
    Registered(i.PromptKind, changing.prompt_kind, False, False, True),
    _reads(i.ReadList, _plain(list_lines.read_list), after_end=False),
    _changes(i.ListDone, _plain(list_lines.list_done)),
    _changes(i.NotDone, list_lines.not_done),
    _changes(i.UnderstoodDone, _plain(one_word.understood_done)),
    _changes(i.NextReadings, one_word.next_readings, asks_itself=True),
    _changes(i.StartHoldAt, one_word.hold_at, asks_itself=True),
    # attention, voice, the end
    Registered(i.StandBy, _plain(attention.stand_by), False, True, True),
    _reads(i.BackToWork, _plain(attention.back_to_work), after_end=False),
    _reads(i.ChangeVoice, attention.change_voice),
    _changes(i.FinishJob, leaving.finish_job),
    # units: what these do is done around the turn of one unit, in dialogue/units/
    Registered(i.OpenUnit, _plain(alone.only_one), False, True, True),
    Registered(i.BeginUnit, _plain(alone.only_one), False, True, True),
    Registered(i.ForUnit, _plain(alone.only_one), False, True, True),
    _reads(i.AskUnits, _plain(alone.only_one)),
    # any order
    _changes(i.GoTo, jump.go_to),
    _changes(i.SkipStage, jump.skip_stage),
    _changes(i.CarryTest, carry_over.carry),
    _changes(i.SaidWhen, _plain(order_answers.nothing_asked)),
    _changes(i.Because, _plain(order_answers.nothing_asked)),
)
_BY_INTENT = {entry.intent: entry for entry in REGISTRY}
ONLY_READ = tuple(entry.intent for entry in REGISTRY if entry.only_reads)


def registered(intent: i.Intent) -> Registered:
    """How an intent is treated; KeyError for one that is missing in the table."""
    return _BY_INTENT[type(intent)]
