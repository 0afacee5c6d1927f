"""What becomes of lines, as tables of text."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from fieldvoice.dialogue.confidence import Decision
from fieldvoice.language.intents import NotUnderstood
from fieldvoice.training.belief.lines import Line
from fieldvoice.training.evaluate import reliability
from fieldvoice.training.evaluate.scoring import Judged
from fieldvoice.training.evaluate.thresholds import Costs, best_thresholds, choices

HEAD = ("| set, condition | lines | right | acted on | asked back | of these for nothing "
        "| wrong value | wrong command | lost |\n| :-- | --: | --: | --: | --: | --: | --: "
        "| --: | --: |")  # fmt: skip


def by_condition(lines: Sequence[Line], verdicts: Sequence[Judged], title: str) -> str:
    """A row for each set and condition."""
    rows: dict[tuple[str, str], list[Judged]] = {}
    for line, verdict in zip(lines, verdicts, strict=True):
        rows.setdefault((line.name, line.condition), []).append(verdict)
    told = [row(f"{name}, {condition}", found) for (name, condition), found in rows.items()]
    return "\n".join([f"\n{title}\n", HEAD, *told])


def row(title: str, verdicts: Sequence[Judged]) -> str:
    """Shares of all lines."""
    accepted = [v for v in verdicts if v.decision is Decision.ACCEPT]

    def share(which: Iterable[bool]) -> str:
        return f"{sum(which) / len(verdicts):.1%}"

    return "| " + " | ".join([
        title, str(len(verdicts)), share(v.same_meaning for v in verdicts),
        share(v.same_meaning for v in accepted), share(v.asked for v in verdicts),
        share(needless(v) for v in verdicts), share(v.wrong_value for v in accepted),
        share(v.wrong_command for v in accepted),
        share(v.decision is Decision.IGNORE for v in verdicts),
    ]) + " |"  # fmt: skip


def needless(verdict: Judged) -> bool:
    """Whether a right line was asked back that is understood: a range is asked about on purpose."""
    understood = not isinstance(verdict.heard, NotUnderstood)
    return verdict.same_meaning and understood and verdict.decision is Decision.ASK


def reliability_of(lines: Sequence[Line], verdicts: Sequence[Judged]) -> str:
    """Confidence against truth."""
    told = [v for line, v in zip(lines, verdicts, strict=True) if not line.talk]
    bins = reliability.bins(reliability.lines(told))
    rows = [f"| {b.low}-{b.high} | {b.count} | {b.mean_confidence:.1%} | {b.right:.1%} |"
            for b in bins]  # fmt: skip
    surprise = reliability.surprise(reliability.lines(told))
    return "\n".join(["\n| confidence | lines | mean | right |\n| :-- | --: | --: | --: |", *rows,
                      f"\nsurprise {surprise:.4f} a line"])  # fmt: skip


def thresholds(lines: Sequence[Line], verdicts: Sequence[Judged], in_force: float) -> str:
    """What accepting from each confidence on would do, and which costs least."""
    pairs = list(zip(lines, verdicts, strict=True))
    ours = [v for line, v in pairs if not line.talk]
    talk = [v for line, v in pairs if line.talk]
    hours = sum(line.result.seconds for line in lines if line.talk) / 3600
    accept, ignore, _ = best_thresholds(ours, talk, Costs())
    rows = [f"| {c.accept_from} | {c.acted_on:.1%} | {c.wrong_value:.2%} | {c.wrong_command:.2%} "
            f"| {c.talk_accepted_per_hour:.1f} | {c.cost:.4f} |"
            for c in choices(ours, talk, hours, Costs())]  # fmt: skip
    return "\n".join([
        "\n| accept from | acted on | wrong value | wrong command | talk taken an hour | cost |\n"
        "| --: | --: | --: | --: | --: | --: |", *rows,
        f"\nleast cost: accept from {accept}, ignore below {ignore} (in force: {in_force})"])
