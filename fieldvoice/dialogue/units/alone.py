"""What a unit by itself, outside of a job, says of other units."""

from __future__ import annotations

from fieldvoice.dialogue.turn import Turn


def only_one(turn: Turn) -> None:
    """There is none to turn to."""
    turn.refuse("There is only this unit here.")
