"""The result of a test in another job's log, where that job was of the same system."""

from __future__ import annotations

from dataclasses import replace

from fieldvoice.dialogue.turn import Turn
from fieldvoice.errors import FieldvoiceError
from fieldvoice.jobstate.earlier_job import EarlierJob
from fieldvoice.jobstate.state import JobState
from fieldvoice.language import intents as i
from fieldvoice.quantity.quantities import speakable
from fieldvoice.trade.refrigerant import refrigerants

PLATE = ("design-pressure", "refrigerant-amount")  # readings that tell one system from another
_SAME = 0.005  # of a plate's figure: rounding between units


class OtherSystem(FieldvoiceError):
    """The other job has no such result for this system; the message says why."""


def from_job(
    turn: Turn, intent: i.CarryTest, about: str, good: str
) -> tuple[i.CarryTest, dict[str, str]]:
    """The test as that log has it: verdict, day, who, and its figures with the log's hash.

    Raises NoSuchJob for a log that cannot be used, OtherSystem for a result that cannot count.
    """
    assert intent.job is not None
    if intent.job == turn.state.job:
        raise OtherSystem("that is this job")
    earlier = turn.look_up(intent.job)
    result = earlier.results.get(about)
    test = intent.test.replace("-", " ")
    if result is None:
        why = "carried it over itself: name the job that measured it" if about in earlier.carried \
            else f"has no {test} result"
        raise OtherSystem(f"job {earlier.name} {why}")
    if result.verdict != good:
        raise OtherSystem(f"there it ended {result.verdict.replace('-', ' ')}")
    _same_system(turn.state, earlier)
    day = result.at.astimezone(turn.now.tzinfo).date()
    figures = {**result.figures, **earlier.facts, "log": earlier.log}
    found = replace(intent, verdict="passed", when=day.isoformat(),
                    by=intent.by or earlier.by or "technician not named")
    return found, figures


def _same_system(state: JobState, earlier: EarlierJob) -> None:
    """Refuse another refrigerant, another place and another nameplate, as far as both are known."""
    for fact, theirs in earlier.facts.items():
        ours = state.answer(fact)
        if ours is not None and _plain(fact, ours) != _plain(fact, theirs):
            raise OtherSystem(f"{fact.replace('-', ' ')} there {theirs}, here {ours}")
    for quantity in PLATE:
        last, theirs_si = state.last_good(quantity), earlier.si.get(quantity)
        if last is not None and theirs_si is not None \
                and abs(last.si - theirs_si) > _SAME * abs(last.si):
            raise OtherSystem(f"the {speakable(quantity)} on the plate there is another one")


def _plain(fact: str, value: str) -> str:
    known = refrigerants.known(value) if fact == "refrigerant" else None
    return known.name if known is not None else value.strip().casefold()
