"""The temperature split of the air in cooling, held against common practice."""

from __future__ import annotations

USUAL_SPLIT_F = (15.0, 23.0)  # cooling, common practice; smaller when the return air is humid
_WORDS = {
    "reversed": "the supply is not cooler than the return.",
    "small": "small: low charge, much airflow, or very humid return air.",
    "large": "large: look for low airflow first, a dirty filter or coil.",
    "usual": "usual in cooling; the equipment's own table governs.",
}


def split_verdict(split_k: float) -> str:
    """A key of the words: "usual", "small", "large", "reversed"; judged as it is said, in tenths
    of a Fahrenheit degree.
    """
    split = round(split_k * 1.8, 1)
    if split <= 0:
        return "reversed"
    if split < USUAL_SPLIT_F[0]:
        return "small"
    return "large" if split > USUAL_SPLIT_F[1] else "usual"


def split_reason(split_k: float, said: str) -> str:
    """The verdict as a sentence; `said`: the split as it is told."""
    verdict = split_verdict(split_k)
    mark = ":" if verdict == "reversed" else ","
    return f"The split is {said}{mark} {_WORDS[verdict]}"
