"""What is likely to be said next, so that the recognizer can lean that way."""

from __future__ import annotations

from dataclasses import dataclass

from fieldvoice.job.jobsheet import JobSheet


@dataclass(frozen=True)
class Expected:
    """The likeliest lines; more likely, never the only ones that are heard."""

    quantities: tuple[str, ...] = ()  # readings that the open step, hold or question waits for
    options: tuple[str, ...] = ()  # names of choices
    intents: tuple[str, ...] = ()  # names of other intents: "understood", "next", "yes", ...
    free_text: bool = False  # a reason or a note: any words


def expected(sheet: JobSheet) -> Expected:
    """What the job waits for now."""
    step = sheet.open_step
    if sheet.expects_free_text:
        return Expected(intents=("end-note", "no"), free_text=True)
    if sheet.standing_by:
        return Expected(intents=("back-to-work",))
    if sheet.question is not None:
        asked = sheet.question.intent.get("quantity")
        return Expected(quantities=(str(asked),) if asked else (), intents=("yes", "no"))
    if step is None:
        return Expected()
    if sheet.unacknowledged():
        return Expected(intents=("understood",))
    exits = tuple(way.name for way in step.exits)
    need = sheet.unmet()
    if need is not None:
        return Expected(quantities=(need.quantity,), options=exits)
    if step.hold is not None:
        begin = () if sheet.hold is not None else ("start-hold",)
        return Expected(step.hold.closing, exits, (*begin, "how-long-left"))
    options = tuple(way.name for way in step.choices)
    return Expected(options=options + exits, intents=() if options else ("next",))
