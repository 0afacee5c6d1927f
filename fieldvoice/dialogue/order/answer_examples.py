"""What can be answered to a question about work out of turn, for help."""

from __future__ import annotations

from fieldvoice.jobstate.records import Question


def examples(question: Question) -> list[str]:
    """Three answers that fit; empty for a question that is none of these."""
    waiting = question.intent.get("intent")
    if waiting == "carry-test":
        return _of_a_test(question)
    if question.why == "reason" and waiting == "start-hold":
        return ["by the unit's manual", "no"]
    if question.why == "reason" and waiting == "go-to":
        return ["no access", "same reason", "no"]
    return []


def _of_a_test(question: Question) -> list[str]:
    if question.why == "reason":
        return ["the name", "no"]
    if question.intent.get("old"):
        return ["yes", "no"]
    if question.intent.get("verdict"):
        return ["yesterday", "two days ago", "no"]
    return ["passed", "failed", "no"]
