"""What is said of a caution, which the screen shows whole each time."""

from __future__ import annotations

from datetime import datetime, timedelta

from fieldvoice.jobstate.state import JobState

FRESH = timedelta(hours=1)  # whoever said "understood" so lately has the rest of it in mind


def caution_told(state: JobState, name: str, now: datetime) -> str:
    """All of it; of one that was acknowledged within the last hour, the sentence that it begins
    with. What it asks for may stand in any of its sentences, so that nothing shorter is safe for
    one that was heard long ago, or only said and never answered.
    """
    text = state.procedure.cautions[name].text
    acknowledged = state.acknowledged_at.get(name)
    if acknowledged is None or now - acknowledged > FRESH:
        return text
    return text.split(". ")[0].rstrip(".") + "."
