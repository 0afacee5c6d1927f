"""The opening of a job: what is said before any line, with pauses in which one may begin to speak.

Pure: times are passed in.
"""

from __future__ import annotations

from collections.abc import Callable

PAUSE_S = 0.9  # after each part: so long the microphone hears, and someone who speaks is noticed
MOST_S = 6.0  # what sounds for longer after a part is no line


class Opening:
    """When the next part of the opening may be said.

    `begins` tells whether someone seems to begin to speak now. It may be wrong: then the opening
    waits a moment for nothing.
    """

    def __init__(self, begins: Callable[[], bool]) -> None:
        self.begins = begins
        self._ended = float("-inf")  # when the last part has sounded

    def part_ends(self, moment: float) -> None:
        """A part of it sounds until then."""
        self._ended = moment

    def holds(self, now: float) -> bool:
        """Whether the next part has to wait."""
        since = now - self._ended
        return since < PAUSE_S or (since < MOST_S and self.begins())
