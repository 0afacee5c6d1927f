"""What waits to be said, and what of it comes next. Pure: the time is passed in."""

from __future__ import annotations

from dataclasses import dataclass

# How long something waits for a technician who is speaking, at most. What protects does not wait.
PATIENCE_S = {True: 2.0, False: 8.0}  # an answer to a line; what nobody asked for


@dataclass(frozen=True)
class Utterance:
    """One reply. `turn` numbers the turn that it belongs to; `asked`: a line is answered."""

    text: str
    tone: str  # of a Reply, or "tone": `text` is then the kind of tone
    turn: int = 0
    asked: bool = True
    since: float = 0.0  # steady time
    repeated: bool = False  # begun before, and lost with the loudspeaker
    opening: bool = False  # said before any line; see opening.py

    @property
    def urgency(self) -> int:
        """Cautions before the answers to lines, in their order, before what nobody asked for."""
        if self.opening:
            return 4 if self.tone == "caution" else 5
        if self.tone in ("tone", "alert", "caution"):
            return ("tone", "alert", "caution").index(self.tone)
        if self.asked:
            return 3
        return 4 if self.tone in ("prompt", "question") else 5

    def waits_for_silence(self, now: float) -> bool:
        """Whether it is better said when nobody speaks."""
        protects = self.tone in ("tone", "caution") or (self.tone == "alert" and self.asked)
        return (self.opening or not protects) and now - self.since < PATIENCE_S[self.asked]

    def ends_with_opening(self, cautions: bool) -> bool:
        """Whether it is not said any more once someone speaks, or (`cautions`) presses keys."""
        return self.opening and (cautions or self.tone != "caution")

    def may_be_cut_by(self, other: Utterance) -> bool:
        """An alert breaks in, but not into another one and not into a caution."""
        return other.tone == "alert" and self.tone not in ("alert", "caution")


class Waiting:
    """The utterances that wait, most urgent first; within one urgency in their order."""

    def __init__(self) -> None:
        self._waiting: list[Utterance] = []

    def __len__(self) -> int:
        return len(self._waiting)

    def add(self, new: Utterance, *, first: bool = False) -> None:
        """One more. A prompt or question makes those of earlier turns out of date.

        `first`: it was cut short, and comes before others of its urgency.
        """
        if new.tone in ("prompt", "question") and not first:
            self._waiting = [
                u for u in self._waiting if u.tone != new.tone or u.turn == new.turn
            ]
        same = [n for n, u in enumerate(self._waiting) if u.urgency == new.urgency]
        later = [n for n, u in enumerate(self._waiting) if u.urgency > new.urgency]
        places = (same if first else []) or later or [len(self._waiting)]
        self._waiting.insert(places[0], new)

    def next(
        self, now: float, someone_speaks: bool, opening_waits: bool = False
    ) -> Utterance | None:
        """The one to say now, taken out; None while all that waits is better said later."""
        for place, one in enumerate(self._waiting):
            polite = someone_speaks and one.waits_for_silence(now)
            if not polite and not (one.opening and opening_waits):
                return self._waiting.pop(place)
        return None

    def breaks_in(self, saying: Utterance, now: float, someone_speaks: bool) -> bool:
        """Whether something that waits must not wait for the end of what is said now."""
        return any(
            saying.may_be_cut_by(u) and not (someone_speaks and u.waits_for_silence(now))
            for u in self._waiting
        )

    def end_opening(self, *, cautions: bool) -> None:
        """The opening goes no further, its `cautions` included or not."""
        self._waiting = [u for u in self._waiting if not u.ends_with_opening(cautions)]

    def clear(self) -> None:
        """Nothing waits any more."""
        self._waiting = []
