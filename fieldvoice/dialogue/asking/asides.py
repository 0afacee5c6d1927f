"""Lines that do not answer the open question: logged, not taken, or in its place; never lost."""

from __future__ import annotations

from fieldvoice.dialogue.confidence import Decision
from fieldvoice.dialogue.safeguards import watch
from fieldvoice.dialogue.turn import Heard, Turn
from fieldvoice.jobstate import events as e
from fieldvoice.jobstate.state import JobState
from fieldvoice.language import intents as i

LONGEST_NAMED = 40  # characters of a line that are said back
_TAKES_BACK = (i.TakeBack, i.PutBack)


def close(turn: Turn, how: str) -> None:
    """The open question is answered."""
    assert turn.state.question is not None
    turn.emit(e.Answered(turn.state.question.seq, how))


def named(words: str, intent: i.Intent) -> str:
    """A line as it is told that it was not taken: its words, or what they mean where long."""
    words = " ".join(words.split())
    short = words and len(words) <= LONGEST_NAMED and words.isprintable()
    return words if short else intent.name().replace("-", " ")


def not_taken(turn: Turn, heard: Heard, waiting: i.Intent) -> None:
    """The open question comes first; what was asked for once more needs no word."""
    said = heard.intent
    if isinstance(said, i.NotUnderstood):
        turn.refuse("Not understood." if said.kind == "unknown" else said.reason)
    elif not _adds_nothing(said, waiting):
        turn.refuse(f"Not taken: {named(heard.words, said)}.")
    else:
        turn.asked_again()


def _adds_nothing(said: i.Intent, waiting: i.Intent) -> bool:
    """The same command again, without more in it."""
    if type(said) is not type(waiting):
        return False
    given = {field: getattr(said, field) for field in said.carries()}
    return all(value in (None, getattr(waiting, field)) for field, value in given.items())


def log_it(_turn: Turn, heard: Heard, _waiting: i.Intent) -> i.Intent:
    """A reading is logged; the question stays open."""
    return heard.intent


def log_unless_taking_back(turn: Turn, heard: Heard, waiting: i.Intent) -> i.Intent:
    """A reading is logged; a take-back that waits for its yes would take that back, so it goes."""
    if isinstance(waiting, _TAKES_BACK):
        _in_its_place(turn, waiting)
    return heard.intent


def another_command(turn: Turn, heard: Heard, waiting: i.Intent) -> i.Intent | None:
    """A command in the place of one that was not heard for sure, which is said to be dropped."""
    said = heard.intent
    if isinstance(said, i.NotUnderstood | i.Okay | i.NeverMind):
        not_taken(turn, heard, waiting)
        return None
    if said != waiting:
        _in_its_place(turn, waiting)
    elif turn.decision is Decision.ACCEPT:
        close(turn, "yes")
    else:
        turn.asked_again()
        return None
    return said


def _in_its_place(turn: Turn, waiting: i.Intent) -> None:
    question = turn.state.question
    line = turn.state.history.line(question.line) if question else None
    close(turn, "replaced")
    turn.answer(f"Not done: {named(line.words if line else '', waiting)}.")


def another_choice(turn: Turn, heard: Heard, waiting: i.Intent) -> i.Intent | None:
    """Another choice takes the place of the one that was asked about."""
    if isinstance(heard.intent, i.Choose) and heard.intent != waiting:
        close(turn, "replaced")
        return heard.intent
    not_taken(turn, heard, waiting)
    return None


# --- questions that mean nothing any more: why, or "" -------------------------------------------


def never(_before: JobState, _now: JobState, _waiting: i.Intent) -> str:
    """It is about no step."""
    return ""


def step_left(before: JobState, now: JobState, waiting: i.Intent) -> str:
    """It was asked of a step that is not open any more."""
    if (before.step, before.opened_seq) == (now.step, now.opened_seq):
        return ""
    what = waiting.name().replace("-", " ").capitalize()
    return f"{what}: dropped, as another step is open now."


def command_left(before: JobState, now: JobState, waiting: i.Intent) -> str:
    """Taking back would by now take back something else."""
    if isinstance(waiting, _TAKES_BACK) and (before.undoable, before.undone) != (
            now.undoable, now.undone):
        return f"{waiting.name().replace('-', ' ').capitalize()}: dropped, more was done since."
    return step_left(before, now, waiting)


def ran_out(_before: JobState, now: JobState, waiting: i.Intent) -> str:
    """The timer that was to be cut short is over."""
    assert isinstance(waiting, watch.Ends)
    if watch.concerned(now, waiting):
        return ""
    return "That timer is over, so nothing is cut short."
