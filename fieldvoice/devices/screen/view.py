"""What is seen of a job: text and numbers, behind which the screen knows nothing."""

from __future__ import annotations

from dataclasses import dataclass

from fieldvoice.quantity.shares import percent


@dataclass(frozen=True)
class Plot:
    """Levels against time, to be drawn on a logarithmic scale; levels are above zero."""

    points: tuple[tuple[float, float], ...]  # minutes and level, as read
    limits: tuple[tuple[float, str], ...] = ()  # level and what it is
    fit: tuple[tuple[float, float], ...] = ()  # a curve through the points, or on from the last
    told: str = ""  # what the curve says
    unit: str = "microns"
    ticks: tuple[tuple[float, str], ...] = ()  # minutes, and how the time axis names them


@dataclass(frozen=True)
class View:
    """A moment of the job as it is to be shown; an empty text is not shown."""

    title: str = ""  # the stage
    task: str = ""  # what the open step asks for now
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
    step: str = ""  # its name
    cautions: tuple[str, ...] = ()  # of the open step
    caution: bool = False  # the task is a caution that waits for its word
    more: str = ""  # what it shows beside that
    waits: str = ""  # what the step still needs
    then: str = ""  # what comes after the open step
    alarm: str = ""  # a pressure above the plate
    hold: str = ""  # the timer that is drawn large; "": the one that ends first
    plot: Plot | None = None
    can_say: tuple[str, ...] = ()  # lines that a key completes

    @property
    def banners(self) -> list[str]:
        """What stands above all else for as long as it lasts."""
        practice = "PRACTICE. Simulated time: nothing is measured." if self.practice else ""
        over = f"OVER THE PLATE. {self.alarm}" if self.alarm else ""
        asks = f"QUESTION. {self.question}" if self.question else ""
        return [text for text in (over, self.standing_by, self.open_note, asks, practice) if text]


@dataclass(frozen=True)
class Devices:
    """How ears and voice stand."""

    # "listening", "deaf", "silent" (it gives no sound at all), "lost", "off", "push-to-talk"
    microphone: str = "off"
    level: float = 0.0  # how loud the sound is, 0..1
    clipping: bool = False  # too loud to be understood
    hearing: str = ""  # words so far of a line that is being spoken
    voice: str = "off"  # "speaking", "silent", "off", "lost"


@dataclass(frozen=True)
class Said:
    """A part of the talk: a line that came in, or a reply."""

    clock: str  # 09:14
    text: str
    tone: str  # "heard" for a line that came in
    outcome: str = ""  # of a line that came in
    sure: float | None = None


_BECAME = {"accepted": "", "ignored": "not taken"}
_TOLD = {"accepted": ("+", "taken"), "asked-back": ("?", "asked back"), "noted": ("+", "noted"),
         "ignored": ("x", "not taken"), "refused": ("x", "not taken")}  # fmt: skip


def heard_line(words: str, sure: float | None, outcome: str) -> str:
    """A line that came in, how sure it was heard, and what became of it unless it was accepted."""
    became = _BECAME.get(outcome, outcome.replace("-", " "))
    told = _words(words, sure)
    return f"{told}  [{became}]" if became else told


def became_line(words: str, sure: float | None, outcome: str) -> str:
    """The same with a mark for what became of it, which tells it without colour."""
    mark, became = _TOLD.get(outcome, ("?", outcome.replace("-", " ")))
    return f"[{mark}] {became}: {_words(words, sure)}"


def _words(words: str, sure: float | None) -> str:
    told = words or "(nothing of ours)"
    return told + ("" if sure is None else f"  ({percent(sure)} sure)")


def clock_face(seconds: float) -> str:
    """9:05, 59:59, 1:00:00; what is over is 0:00. Part seconds count as whole ones still left."""
    whole = max(0, -int(-seconds // 1))
    minutes, second = divmod(whole, 60)
    hours, minute = divmod(minutes, 60)
    return f"{hours}:{minute:02}:{second:02}" if hours else f"{minute}:{second:02}"
