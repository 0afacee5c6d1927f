"""A job's readings and verdicts as JSON, for a program."""

from __future__ import annotations

import json
from typing import Any

from fieldvoice.jobstate.state import JobState
from fieldvoice.review.logged_job import LoggedUnits
from fieldvoice.review.readings_csv import records

_NUMBERS = ("si_value", "minute", "confidence")  # the value itself stays exact, as said


def report_json(job: LoggedUnits, integrity: dict[str, Any]) -> str:
    """One object: the job, whether its log is whole, and each unit's facts, readings, verdicts."""
    first = job.first.state
    found = {
        "job": first.job, "mode": first.mode, "integrity": integrity,
        "units": [{"unit": name, **_unit(unit.state)} for name, unit in job.units.items()],
    }
    return json.dumps(found, ensure_ascii=False, indent=1, allow_nan=False, default=str) + "\n"


def _unit(state: JobState) -> dict[str, Any]:
    started = state.history.started
    return {
        "procedure": started.procedure if started else "", "ending": state.ending,
        "facts": dict(state.facts), "readings": [_typed(row) for row in records(state)],
        "verdicts": [{
            "seq": result.seq, "time": result.at.isoformat(), "about": result.about,
            "verdict": result.verdict, "step": result.step, "figures": result.figures,
        } for result in state.results],
    }


def _typed(row: dict[str, object]) -> dict[str, object]:
    return {name: float(str(value)) if name in _NUMBERS else value for name, value in row.items()}
