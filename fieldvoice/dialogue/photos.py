"""A photo is kept with the job: the newest of the folder where the camera puts them."""

from __future__ import annotations

from fieldvoice.dialogue.turn import Turn
from fieldvoice.jobstate import events as e
from fieldvoice.jobstate.attachment import NoPhoto
from fieldvoice.language import intents as i


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
