"""Notes, photos, standing by, and how Fieldvoice speaks."""

from __future__ import annotations

from fieldvoice.dialogue.turn import Heard, Turn
from fieldvoice.jobstate import events as e
from fieldvoice.jobstate.attachment import NoPhoto
from fieldvoice.language import intents as i

_SAID = {
    "louder": "Louder.", "softer": "Softer.", "slower": "Slower.", "faster": "Faster.",
    "quiet": "Screen only. Say voice on for the voice.", "aloud": "Voice on.",
}
WAY_BACK_ELSEWHERE = "taught-carry-on"  # "wake up" and its kin


def is_cut_short(heard: Heard) -> bool:
    """Whether a part of the line went unheard."""
    return isinstance(heard.intent, i.NotUnderstood) and heard.intent.kind == e.CUT_SHORT


def ask_again(turn: Turn, heard: Heard) -> None:
    """A line of which a part went unheard counts for nothing; an open question stays open."""
    if isinstance(heard.intent, i.NotUnderstood):
        turn.ask(heard.intent.reason)


def start_note(turn: Turn) -> None:
    """What follows is a note."""
    turn.emit(e.NoteOpened(turn.line))
    turn.answer("Note. Say end note when done.")


def end_note(turn: Turn) -> None:
    """Keep what was said since the note began."""
    note = turn.state.open_note
    if note is None:
        turn.refuse("No note is open. Say take a note.")
        return
    turn.emit(e.NoteTaken(" ".join(note.words), list(note.clips), turn.line))
    turn.answer("Note kept." if note.words else "Empty note kept.")


def note(turn: Turn, intent: i.Note) -> None:
    """Keep a typed note."""
    turn.emit(e.NoteTaken(intent.text, [], turn.line))
    turn.answer("Note kept.")


def photo(turn: Turn, intent: i.Photo) -> None:
    """Keep the newest photo; it is captioned with what was said of it, else with the step."""
    if turn.heard is None:
        return
    known = frozenset(kept.sha256 for kept in turn.state.history.attachments)
    try:
        kept = turn.heard.photo(known)
    except NoPhoto as error:
        turn.refuse(str(error))
        return
    step = turn.state.step
    caption = intent.about or (step.replace("-", " ") if step else "")
    by = turn.state.facts.get("technician", "")
    turn.emit(e.Attached(kept.file, kept.sha256, kept.bytes, caption, by, turn.line))
    turn.answer(f"Photo kept: {caption}." if caption else "Photo kept.")


def stand_by(turn: Turn) -> None:
    """Ignore everything but the way back."""
    turn.emit(e.StoodBy())
    turn.answer("Standing by. Say carry on.")


def stay_away(turn: Turn, heard: Heard) -> None:
    """A line while standing by: only the way back counts; a word for it elsewhere is put right."""
    if isinstance(heard.intent, i.NotUnderstood) and heard.intent.kind == WAY_BACK_ELSEWHERE:
        turn.refuse(heard.intent.reason)
        return
    if not isinstance(heard.intent, i.BackToWork):
        turn.ignore()
        return
    turn.emit(e.BackAtWork())
    turn.answer("Carrying on.")


def back_to_work(turn: Turn) -> None:
    """Said while nothing is ignored."""
    turn.answer("I am listening.")


def change_voice(turn: Turn, intent: i.ChangeVoice) -> None:
    """Speak louder, slower, not at all, ..."""
    turn.emit(e.VoiceChanged(intent.change))
    turn.answer(_SAID.get(intent.change, f"{intent.change.capitalize()}."))
