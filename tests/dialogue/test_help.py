"""Help says three things that the open step takes, at every step of every shipped procedure."""

from __future__ import annotations

from datetime import timedelta

import pytest

from fieldvoice.dialogue import assistant, prompts
from fieldvoice.dialogue.assistant import Heard
from fieldvoice.jobstate import events as e
from fieldvoice.jobstate.state import JobState, fold
from fieldvoice.language import intents as i
from fieldvoice.language.parser import understand
from fieldvoice.language.speech_text import say
from fieldvoice.procedure.check import load
from fieldvoice.procedure.model import Procedure
from fieldvoice.procedure.reader import shipped, shipped_names
from fieldvoice.procedure.step import Step
from support.bench import START, Bench
from support.every_sort import TEXT, at

STEPS = [(p, step) for p in map(load, map(shipped, shipped_names())) for step in p.steps]


def opened(procedure: Procedure, step: Step, *more: e.Event) -> JobState:
    """The state with a step just opened."""
    events = [
        e.JobStarted("help", procedure.name, procedure.sha256, "test", {"refrigerant": "R-410A"}),
        e.StepOpened(step.stage, step.name), *more,
    ]  # fmt: skip
    entries = [e.Entry(seq, START, event) for seq, event in enumerate(events, start=1)]
    return fold(JobState.empty(procedure), entries)


def states(procedure: Procedure, step: Step) -> list[JobState]:
    """A step as it opens, after its cautions, and while its hold runs."""
    known = [e.CautionAcknowledged(step.name, name) for name in step.cautions]
    due = (START + timedelta(minutes=10)).isoformat()
    found = [opened(procedure, step), opened(procedure, step, *known)]
    if step.hold is not None:
        running = e.TimerStarted("hold", 600.0, due, True)
        found.append(opened(procedure, step, *known, running))
    return found


@pytest.mark.parametrize(("procedure", "step"), STEPS, ids=lambda x: x.name)
def test_three_examples_fit_the_step(procedure: Procedure, step: Step) -> None:
    for state in states(procedure, step):
        examples = prompts.examples(state)
        assert len(set(examples)) == 3
        for example in examples:
            words = say(example).replace("-", " ")
            intent = understand(words, typed=False)
            outcome = assistant.handle(state, Heard(intent, words, "voice", 1.0), START)
            heard = outcome.events[0]
            assert isinstance(heard, e.LineHeard)
            assert heard.outcome in ("accepted", "asked-back"), (example, outcome.replies)
            assert intent.name() != "not-understood"
            taken = [v for v in outcome.events if isinstance(v, e.ReadingTaken)]
            assert all(v.within is not False for v in taken), example


def test_help_fits_the_open_question() -> None:
    bench = at(Bench(TEXT), "pull")
    bench.say(i.Skip())
    assert bench.say(i.Help()) == ("You can say: no access; not needed; or no. "
                                   "What is the reason to skip pull? Or say no.")
    bench.say(i.No())
    bench.say(i.FinishJob())
    assert bench.say(i.Help()).startswith("You can say: yes; no; or never mind. Finish the job")


def test_help_still_helps_when_the_job_is_finished() -> None:
    bench = at(Bench(TEXT), "pull")
    bench.say(i.FinishJob())
    bench.say(i.Yes())
    assert bench.say(i.Help()) == "You can say: where are we; take a note; or repeat."
