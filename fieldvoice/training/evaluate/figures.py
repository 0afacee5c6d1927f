"""The figures of a benchmark run, as plain values for JSON, table and plots."""

from __future__ import annotations

import platform
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import asdict
from datetime import UTC, datetime
from importlib.metadata import version
from json import loads
from pathlib import Path
from typing import Any

from fieldvoice.dialogue import confidence
from fieldvoice.training.evaluate import expectation_gain, peers, reliability
from fieldvoice.training.evaluate.footprint import footprint
from fieldvoice.training.evaluate.result_cache import model_digest
from fieldvoice.training.evaluate.samples import CLEAN, MACHINES, machine_of
from fieldvoice.training.evaluate.scoring import (
    Result,
    as_dict,
    judged,
    outcomes,
    score,
    shares,
)
from fieldvoice.training.evaluate.test_sets import TALK, UNSPOKEN, TestSet
from fieldvoice.training.evaluate.thresholds import Costs, best_thresholds, choices

OURS, BEFORE = "fieldvoice", "fieldvoice before"
USUAL = (CLEAN, f"{MACHINES} 20", f"{MACHINES} 10")  # what calibration and thresholds are set for
SYNTHETIC = ("joe", "kokoro")
Found = Mapping[tuple[str, str, str], list[Result]]  # recognizer, set, condition


def report(
    found: Found, sets: Sequence[TestSet], model: Path, half: str, peers_heard: Sequence[str]
) -> dict[str, Any]:
    """Everything measured."""
    return {
        "date": datetime.now(UTC).date().isoformat(),
        "versions": _versions(peers_heard),
        "model": loads((model / "fieldvoice.json").read_text())
        | {"digest": model_digest(model), "megabytes": _megabytes(model)},
        "half": half,
        "sets": {s.name: {"kind": s.kind, "about": s.about, "count": len(s.clean)} for s in sets},
        "footprint": {OURS: footprint(OURS, model)}
        | {peer: footprint(peer, model) for peer in peers_heard},
        "rows": list(_rows(_without(BEFORE, found), {s.name: s.kind for s in sets})),
        "outcomes": outcome_rows(found, sets),
        "reliability": _reliability(found),
        "steps": _steps(found),
        "in_force": asdict(confidence.CALIBRATION)
        | {"accept_from": confidence.ACCEPT_FROM, "ignore_below": confidence.IGNORE_BELOW},
        "proposed": _proposed(found),
    }


def _versions(peers_heard: Sequence[str]) -> dict[str, str]:
    packages = [package for peer in peers_heard for package in peers.PACKAGES[peer]]
    found = {name: version(name) for name in ("vosk", *packages)}
    return {"python": platform.python_version(), **found}


def _megabytes(model: Path) -> float:
    return round(sum(p.stat().st_size for p in model.rglob("*") if p.is_file()) / 1e6, 1)


def _rows(found: Found, kinds: Mapping[str, str]) -> Iterable[dict[str, Any]]:
    for (name, kind, condition), results in found.items():
        talk = kinds[kind] in (TALK, UNSPOKEN)
        row = {"recognizer": name, "set": kind, "condition": condition}
        yield row | as_dict(score(results, talk)) | _per_hour(results, talk)
        if condition.startswith(MACHINES) and not talk:
            decibels = condition.split()[-1]
            for first in range(3):
                one = {**row, "condition": f"{machine_of(first)} {decibels}"}
                yield one | as_dict(score(results[first::3]))


def _without(name: str, found: Found) -> Found:
    return {key: results for key, results in found.items() if key[0] != name}


def outcome_rows(found: Found, sets: Sequence[TestSet]) -> list[dict[str, Any]]:
    """What becomes of the lines of each set and condition, with the model before beside it."""
    lines = {one.name for one in sets if one.kind not in (TALK, UNSPOKEN)}
    rows = []
    for (name, kind, condition), results in found.items():
        if name != OURS or kind not in lines:
            continue
        row = {"set": kind, "condition": condition, "lines": len(results)}
        before = found.get((BEFORE, kind, condition), [])
        for who, heard in (("before", before), ("after", results)):
            if heard:
                told = outcomes([judged(result) for result in heard])
                row[who] = {what: round(share, 5) for what, share in told.items()}
        rows.append(row)
    return rows


def earlier(rows: list[dict[str, Any]], before: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """The rows with those of an earlier page beside them, where as many lines were heard."""
    found = {(row["set"], row["condition"], row["lines"]): row["after"] for row in before}
    return [
        {**row, "before": found[key]} if (key := (row["set"], row["condition"], row["lines"]))
        in found else row for row in rows
    ]  # fmt: skip


def _per_hour(results: Sequence[Result], talk: bool) -> dict[str, float]:
    """What talk and noise do in an hour."""
    if not talk:
        return {}
    hours = sum(result.seconds for result in results) / 3600
    shared = shares([judged(result, talk=True) for result in results])
    fields = ("wrong_value", "wrong_command", "harmless", "asked_back")
    return {f"{name}_per_hour": round(shared[name] * len(results) / hours, 3) for name in fields}


def _of(found: Found, sets: Sequence[str], conditions: Sequence[str] | None = None
        ) -> list[Result]:  # fmt: skip
    return [
        result
        for (name, kind, condition), results in found.items()
        if name == OURS and kind in sets and (conditions is None or condition in conditions)
        for result in results
    ]


def _reliability(found: Found) -> dict[str, list[dict[str, float]]]:
    synthetic, person = _of(found, SYNTHETIC), _of(found, ("person", "person readings"))
    told = {
        "words": reliability.words(synthetic),
        "lines": reliability.lines([judged(result) for result in synthetic]),
        "lines of a person": reliability.lines([judged(result) for result in person]),
    }
    return {what: [asdict(b) for b in reliability.bins(pairs)] for what, pairs in told.items()}


def _steps(found: Found) -> list[dict[str, Any]]:
    """What becomes of lines and talk under steps that wait for something."""
    rows = []
    for conditions in ((CLEAN,), (f"{MACHINES} 10",), (f"{MACHINES} 5",)):
        results = _of(found, SYNTHETIC, conditions)
        for waits in expectation_gain.STEPS if results else ():
            lines = expectation_gain.under_steps(results, waits)
            row = {"condition": conditions[0], "waits_for": waits}
            rows.append(row | {k: round(v, 5) for k, v in shares(lines).items()})
    talk = _of(found, ("talk",))
    hours = sum(result.seconds for result in talk) / 3600
    said = {expectation_gain.NOTHING: [judged(r, True) for r in talk],
            "a step waits for a vacuum": expectation_gain.talk_in_a_step(talk)}  # fmt: skip
    for waits, lines in said.items():
        if talk:
            told = {f"{k}_per_hour": round(v * len(talk) / hours, 3)
                    for k, v in shares(lines).items()}  # fmt: skip
            rows.append({"condition": "talk", "waits_for": waits} | told)
    return rows


def _proposed(found: Found) -> dict[str, Any]:
    """Thresholds that these results ask for; what fits the confidence itself is training/belief."""
    results, talk = _of(found, SYNTHETIC, USUAL), _of(found, ("talk",))
    lines = [judged(result) for result in results]
    talked = [judged(result, True) for result in talk]
    hours = sum(result.seconds for result in talk) / 3600
    accept, ignore, cost = best_thresholds(lines, talked, Costs())
    return {
        "accept_from": accept, "ignore_below": ignore, "cost_a_line": round(cost, 4),
        "costs": asdict(Costs()), "conditions": USUAL,
        "surprise": round(reliability.surprise(reliability.lines(lines)), 4),
        "choices": [asdict(c) for c in choices(lines, talked, hours, Costs())],
    }  # fmt: skip
