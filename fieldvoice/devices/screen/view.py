"""What is seen of a job: text and numbers, behind which the screen knows nothing."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True)
class View:
    """A moment of the job as it is to be shown; an empty text is not shown."""

    title: str = ""  # the stage
    task: str = ""  # what the open step asks for
    heard: str = ""  # the last line that came in
    sure: float | None = None  # how sure it was heard, 0..1; None where that means nothing: typed
    outcome: str = ""  # of events.LineHeard; "" before the first line
    figure: str = ""  # a value to be drawn large: digits, sign and point
    figure_label: str = ""
    timers: tuple[tuple[str, int], ...] = ()  # label and seconds left
    question: str = ""  # waits for its answer
    standing_by: str = ""  # a banner, as lines do not count as they else do
    open_note: str = ""  # a banner, too
    finished: str = ""
    others: tuple[str, ...] = ()  # of a job of several units: where each that is not open stands
    depth: str = ""  # how much is said of the work, where it is not all
    practice: bool = False  # simulated time: nothing is measured
    listed: str = ""  # steps that are done with the open one

    @property
    def banners(self) -> list[str]:
        """What stands above all else for as long as it lasts."""
        return [text for text in (self.standing_by, self.open_note) if text]


_BECAME = {"accepted": "", "ignored": "not taken"}


def heard_line(words: str, sure: float | None, outcome: str) -> str:
    """A line that came in, how sure it was heard, and what became of it unless it was accepted."""
    told = words or "(nothing of ours)"
    told += "" if sure is None else f"  ({sure:.0%} sure)"
    became = _BECAME.get(outcome, outcome.replace("-", " "))
    return f"{told}  [{became}]" if became else told


def clock_face(seconds: float) -> str:
    """9:05, 59:59, 1:00:00; what is over is 0:00. Part seconds count as whole ones still left."""
    whole = max(0, -int(-seconds // 1))
    minutes, second = divmod(whole, 60)
    hours, minute = divmod(minutes, 60)
    return f"{hours}:{minute:02}:{second:02}" if hours else f"{minute}:{second:02}"
