"""What is likely to be said next: it is believed more readily, and the rest is still heard."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from fieldvoice.dialogue.facts import passing
from fieldvoice.jobstate.depths import EVERY_STEP
from fieldvoice.jobstate.state import JobState
from fieldvoice.language import intents as i
from fieldvoice.quantity.plausible import surprising
from fieldvoice.quantity.resolve_reading import Resolved, resolve
from fieldvoice.quantity.site import Site


@dataclass(frozen=True)
class Expected:
    """The likeliest lines; more likely, never the only ones that are heard."""

    quantities: tuple[str, ...] = ()  # readings that the open step, hold or question waits for
    options: tuple[str, ...] = ()  # names of choices
    intents: tuple[str, ...] = ()  # names of other intents: "understood", "next", "yes", ...


def expected(state: JobState) -> Expected:
    """What the job waits for now."""
    step = state.open_step
    if state.expects_free_text:
        return Expected(intents=("end-note", "no"))
    if state.standing_by:
        return Expected(intents=("back-to-work",))
    if state.question is not None and state.question.why == "fact":
        return Expected(intents=("yes", "no", "tell-fact"))
    if state.question is not None and state.question.why == "carry":
        return Expected((), ("passed", "failed"), ("yes", "no", "said-when"))
    if state.question is not None:
        asked = state.question.intent.get("quantity")
        return Expected(quantities=(str(asked),) if asked else (), intents=("yes", "no"))
    if step is None:
        return Expected()
    every = state.depth == EVERY_STEP
    if state.unacknowledged():
        return Expected(intents=("understood", *([] if every else ["understood-done"])))
    exits = tuple(way.name for way in step.exits)
    need = state.unmet()
    if need is not None:
        return Expected(quantities=(need.quantity,), options=exits)
    if passing.wanted(state) is not None:
        return Expected(options=exits, intents=("tell-fact",))
    if step.hold is not None:
        start = ("start-hold",) if every else ("start-hold", "start-hold-at")
        begin = () if state.hold is not None else start
        return Expected(step.hold.closing, exits, (*begin, "how-long-left"))
    options = tuple(way.name for way in step.choices)
    return Expected(options=options + exits, intents=() if options else ("next",))


def is_expected(state: JobState, intent: i.Intent) -> bool:
    """Whether the job waits for this intent; a reading must be plausible too."""
    return fits(expected(state), intent, state.site, lambda q: [t.si for t in state.here(q)])


def fits(
    likely: Expected, intent: i.Intent, site: Site, earlier: Callable[[str], Sequence[float]]
) -> bool:
    """Whether an intent is among the likely; `earlier` gives a quantity's last SI values."""
    if isinstance(intent, i.Reading):
        return any(_reads(q, intent, site, earlier(q)) for q in likely.quantities)
    if isinstance(intent, i.Choose):
        return intent.option in likely.options
    return intent.name() in likely.intents or intent.name() in likely.options


def _reads(quantity: str, said: i.Reading, site: Site, earlier: Sequence[float]) -> bool:
    """Whether a reading is a plausible value of this quantity."""
    found = resolve(said.value, said.unit, said.quantity, expected=quantity, site=site)
    if not isinstance(found, Resolved) or found.quantity != quantity:
        return False
    return surprising(found, earlier, site=site) is None
