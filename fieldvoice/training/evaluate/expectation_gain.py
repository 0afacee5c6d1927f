"""What it gives to believe more readily what the open step waits for: steps played through."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial

from fieldvoice.dialogue.confidence import CALIBRATION, Calibration
from fieldvoice.dialogue.expectation import Expected, fits
from fieldvoice.language import intents as i
from fieldvoice.quantity.resolve_reading import Resolved, resolve
from fieldvoice.quantity.site import STANDARD
from fieldvoice.training.evaluate.scoring import Expecting, Judged, Result, judged, nothing

UNEXPECTED_EVERY = 5  # one line in five is something else than the step waits for
VACUUM_STEP = Expected(("vacuum",), (), ("next",))
NOTHING, THIS = "no step waits", "a step waits for what is said"
OTHER, MIXED = "a step waits for something else", "as on a job"
STEPS = (NOTHING, THIS, OTHER, MIXED)


def waiting_for(intent: i.Intent) -> Expected:
    """A step that waits for an intent; for nothing where no step would."""
    if isinstance(intent, i.Reading):
        found = resolve(intent.value, intent.unit, intent.quantity, expected="vacuum")
        return Expected((found.quantity,)) if isinstance(found, Resolved) else Expected()
    if isinstance(intent, i.Choose):
        return Expected(options=(intent.option,))
    return Expected(intents=(intent.name(),))


def expecting(likely: Expected) -> Expecting:
    """Whether an intent is among the likely, at sea level and without earlier readings."""
    return partial(_fits, likely)


def _fits(likely: Expected, intent: i.Intent) -> bool:
    return fits(likely, intent, STANDARD, lambda _: ())


def under_steps(
    results: Sequence[Result], steps: str, calibration: Calibration = CALIBRATION
) -> list[Judged]:
    """Judge lines that are said while steps are open that wait for one of STEPS."""
    waits = [waiting_for(judged(result).said) for result in results]
    others = [*waits[7:], *waits[:7]]
    return [
        judged(result, False, _expected(steps, place, this, other), calibration)
        for place, (result, this, other) in enumerate(zip(results, waits, others, strict=True))
    ]


def _expected(steps: str, place: int, this: Expected, other: Expected) -> Expecting:
    if steps == MIXED:
        steps = OTHER if place % UNEXPECTED_EVERY == 0 else THIS
    return {NOTHING: nothing, THIS: expecting(this), OTHER: expecting(other)}[steps]


def talk_in_a_step(
    results: Sequence[Result], calibration: Calibration = CALIBRATION
) -> list[Judged]:
    """Judge talk to others while a step waits for the vacuum, or for the word to go on."""
    return [judged(result, True, expecting(VACUUM_STEP), calibration) for result in results]
