"""The kinds of question: how each is put again, what a yes does, what a no, and any other line."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from dataclasses import dataclass

from fieldvoice.dialogue import choosing, prompts, record_reading, steps
from fieldvoice.dialogue.asking import asides, confirmed, reasons, values
from fieldvoice.dialogue.facts import naming, telling
from fieldvoice.dialogue.order import answers as order
from fieldvoice.dialogue.order import carry_over, jump
from fieldvoice.dialogue.safeguards import room_check, safety_class, watch
from fieldvoice.dialogue.times import clock_doubt
from fieldvoice.dialogue.turn import Heard, Turn
from fieldvoice.jobstate.records import Question
from fieldvoice.jobstate.state import JobState
from fieldvoice.language import intents as i
from fieldvoice.quantity.units import say

OUT_OF_TURN = "reason out of turn"  # to go elsewhere, to carry a test over, for an own hold
YES_OR_NO = "Say yes or no."
# what is still to be done: the line's own intent, the one that waited, or nothing
Rest = i.Intent | None


@dataclass(frozen=True)
class Kind:
    """One kind of question; `waiting` is the intent that counts when the answer is yes."""

    again: Callable[[JobState, i.Intent], str]  # put once more
    yes: Callable[[Turn, i.Intent], Rest]
    no: Callable[[Turn, i.Intent], None]
    # a reading is logged beside the question, unless it answers it
    reading: Callable[[Turn, Heard, i.Intent], Rest] = asides.log_it
    other: Callable[[Turn, Heard, i.Intent], Rest] = asides.not_taken
    moot: Callable[[JobState, JobState, i.Intent], str] = asides.step_left  # why it is dropped


def _said(words: str) -> Callable[[Turn, i.Intent], None]:
    return lambda turn, _waiting: turn.answer(words)


def _fixed(words: str) -> Callable[[JobState, i.Intent], str]:
    return lambda _state, _waiting: words


def value_again(state: JobState, waiting: i.Intent) -> str:
    """A value that waits, with its name where another quantity is waited for."""
    assert isinstance(waiting, values.VALUES)
    if isinstance(waiting, i.Reading) and waiting.unit and waiting.quantity:
        value = record_reading.named(state, waiting.quantity, waiting.value, waiting.unit)
    else:
        value = say(waiting.value, waiting.unit) if waiting.unit else f"{waiting.value:f}"
    return f"{value}? Say yes, no, or the value again."


def _command_again(_state: JobState, waiting: i.Intent) -> str:
    return f"{waiting.name().replace('-', ' ').capitalize()}? {YES_OR_NO}"


def _skip_reason_again(state: JobState, _waiting: i.Intent) -> str:
    return f"What is the reason to skip {prompts.step_words(state)}? Or say no."


def _end_again(state: JobState, waiting: i.Intent) -> str:
    assert isinstance(waiting, watch.Ends)
    return watch.again(state, waiting)


def _contradiction_again(state: JobState, waiting: i.Intent) -> str:
    assert isinstance(waiting, i.Choose)
    return safety_class.question(state, waiting.option)


def _stricter(turn: Turn, waiting: i.Intent) -> Rest:
    """The plate contradicts the job's refrigerant: the one that asks for more care holds."""
    assert isinstance(waiting, i.Choose)
    held, why = safety_class.strictest(turn.state, waiting.option)
    if held == waiting.option:
        name = turn.state.facts["refrigerant"]
        turn.answer(f"Then check the refrigerant: this job was begun with {name}.")
    else:
        turn.answer("The stricter of the two holds.")
    choosing.choose(turn, held, settled=why)
    return None


def _not_chosen(turn: Turn, _waiting: i.Intent) -> None:
    turn.answer("All right, not done.")
    turn.say("prompt", prompts.waits_for(turn.state))


def _room_enough(turn: Turn, _waiting: i.Intent) -> Rest:
    room_check.answered(turn, room_check.ENOUGH)
    steps.advance(turn)
    return None


def _room_too_small(turn: Turn, _waiting: i.Intent) -> None:
    room_check.answered(turn, room_check.TOO_SMALL)


def _room_moot(before: JobState, now: JobState, waiting: i.Intent) -> str:
    """A charge that was taken out again needs no room."""
    left = asides.step_left(before, now, waiting)
    return left or ("" if room_check.grown(now) else "Then the room is large enough.")


def _fact_again(state: JobState, waiting: i.Intent) -> str:
    assert isinstance(waiting, i.TellFact)
    return telling.question(state, waiting.fact, waiting.value or "")


def _fact_told(turn: Turn, waiting: i.Intent) -> Rest:
    assert isinstance(waiting, i.TellFact)
    telling.tell(turn, waiting, confirmed=True)
    return None


def _name_again(_state: JobState, waiting: i.Intent) -> str:
    assert isinstance(waiting, i.TellFact)
    return naming.question(waiting)


_NOT_DONE = _said("All right, not done.")
KINDS: Mapping[str, Kind] = {
    "value": Kind(value_again, confirmed.do, _said("Dropped. Say it again."),
                  reading=values.said_again, moot=asides.never),
    "command": Kind(_command_again, confirmed.do, _NOT_DONE, reading=asides.log_unless_taking_back,
                    other=asides.another_command, moot=asides.command_left),
    "skip reason": Kind(_skip_reason_again, confirmed.do, _said("All right, not skipped."),
                        other=reasons.skipping),
    "end reason": Kind(_end_again, confirmed.do, _said("All right, it goes on."),
                       other=reasons.ending, moot=asides.ran_out),
    "skip": Kind(_fixed(f"Skip it? {YES_OR_NO}"), confirmed.do, _NOT_DONE),
    "cut short": Kind(_end_again, confirmed.do, _NOT_DONE, moot=asides.ran_out),
    "finish": Kind(_fixed(f"Finish the job now? {YES_OR_NO}"), confirmed.do, _NOT_DONE,
                   moot=asides.never),
    "contradiction": Kind(_contradiction_again, _stricter, _not_chosen,
                          other=asides.another_choice),
    telling.ABOUT: Kind(_fact_again, _fact_told, _NOT_DONE, moot=asides.never),
    naming.ABOUT: Kind(_name_again, confirmed.do, _said("All right, not told."),
                       other=naming.named, moot=asides.never),
    jump.ABOUT: Kind(order.again, order.go, order.stay),
    carry_over.ABOUT: Kind(order.again, confirmed.do, order.stay, other=order.of_test),
    OUT_OF_TURN: Kind(order.again, confirmed.do, order.stay, other=order.reason),
    clock_doubt.ABOUT: Kind(lambda state, _waiting: clock_doubt.question(state),
                            clock_doubt.right, clock_doubt.wrong, moot=asides.never),
    room_check.ABOUT: Kind(lambda state, _waiting: room_check.question(state), _room_enough,
                           _room_too_small, moot=_room_moot),
}  # fmt: skip
# where a yes says too little: it is no reason, no name and no date
WANTS_REASON = ("skip reason", "end reason", naming.ABOUT, carry_over.ABOUT, OUT_OF_TURN)
# where nothing goes on before it is answered: it is not dropped either
MUST_BE_ANSWERED = (clock_doubt.ABOUT,)


def waiting_in(question: Question) -> i.Intent:
    """What counts when the answer is yes."""
    return i.Intent.from_dict(dict(question.intent))


def kind_of(question: Question) -> str:
    """A key of KINDS: by why it was asked, and by what waits."""
    waiting = waiting_in(question)
    ends = isinstance(waiting, watch.Ends)
    if question.why in ("confidence", "surprising"):
        return "value" if isinstance(waiting, values.VALUES) else "command"
    if question.why == "reason":
        if isinstance(waiting, order.TAKE_A_REASON):
            return OUT_OF_TURN
        return "end reason" if ends else "skip reason"
    if question.why == "gate":
        return "cut short" if ends else "skip"
    return question.why if question.why in KINDS else "command"  # of a newer log
