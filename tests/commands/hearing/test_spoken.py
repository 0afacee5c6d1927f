"""From sound to lines: each with its own sound, and none that was cut."""

import numpy as np
import pytest

from fieldvoice.commands.wiring.hearing.spoken import MISSED, TALKED_OVER, TALKING, At, Spoken
from fieldvoice.commands.wiring.listening import CutShort, Line
from fieldvoice.devices.ears import Block
from fieldvoice.devices.recognizer import Utterance
from support.fake_recognizer import FakeRecognizer

STEP_S = 0.1
NEVER: At = lambda moment: False  # noqa: E731
LOUD = 9_000  # a value that is speech; less than a tenth of it is not


def blocks(values: list[int], gap_before: int = -1) -> list[Block]:
    """A tenth of a second of each value; each other sample is turned round, so that it sounds."""
    sound = np.tile(np.array([1, -1], dtype=np.int16), round(STEP_S * 8_000))
    return [Block((value * sound).astype(np.int16), number * STEP_S, number == gap_before)
            for number, value in enumerate(values)]


def hear(
    values: list[int], deaf_at: At = NEVER, off_at: At = NEVER, gap_before: int = -1
) -> list[Line | CutShort]:
    spoken = Spoken(FakeRecognizer(), deaf_at, off_at)
    return [found for block in blocks(values, gap_before) for found in spoken.hear(block)]


def told(found: list[Line | CutShort]) -> list[tuple[str, str]]:
    """Words, and why they were cut."""
    return [(one.words, one.why if isinstance(one, CutShort) else "") for one in found]


def test_each_line_has_its_own_sound() -> None:
    found = hear([0, 0, 0, 1, 2, 0, 3, 0])
    assert told(found) == [("1 2", ""), ("3", "")]
    assert [f.source for f in found if isinstance(f, Line)] == ["voice", "voice"]
    assert [f.sound[::1_600].tolist() for f in found if f.sound is not None] == [
        [0, 0, 0, 1, 2, 0], [3, 0]]


def test_a_line_tells_when_its_sound_ended_however_late_it_is_heard() -> None:
    found = hear([0, 0, 0, 1, 2, 0, 3, 0])
    assert [round(f.ended or 0, 3) for f in found if isinstance(f, Line)] == [0.6, 0.8]


def test_long_silence_before_a_line_is_not_kept() -> None:
    (line,) = hear([*[0] * 600, 7, 0])
    assert line.sound is not None
    assert 0.5 < len(line.sound) / 16_000 < 4.0
    assert 7 in line.sound


def test_a_long_line_is_kept_whole() -> None:
    (line,) = hear([0] * 5 + [5] * 600 + [0])
    assert line.sound is not None
    assert len(line.sound) == 606 * 1_600


def test_what_comes_while_fieldvoice_speaks_is_dropped_and_not_in_the_sound() -> None:
    found = hear([8, 8, 8, 0, 0, 0, 0, 0, 4, 0], deaf_at=lambda t: t < 0.45)
    assert told(found) == [("4", "")]
    assert found[0].sound is not None
    assert 8 not in found[0].sound


def test_a_line_that_was_under_way_when_the_ears_opened_is_asked_for_again() -> None:
    values = [0] * 5 + [LOUD + 1, LOUD + 2, LOUD + 3] + [0] * 8
    assert told(hear(values)) == [("9001 9002 9003", "")]
    found = hear(values, deaf_at=lambda t: t < 0.55)
    assert told(found) == [("9002 9003", TALKING)]


def test_so_is_what_follows_upon_it_at_once() -> None:
    values = [0] * 5 + [LOUD + 1, LOUD + 2, 0, 0, LOUD + 3, 0, *[0] * 9, LOUD + 4, 0]
    found = hear(values, deaf_at=lambda t: t < 0.55)
    assert told(found) == [("9002", TALKING), ("9003", TALKING), ("9004", "")]


def test_a_word_just_before_the_ears_opened_cuts_the_line_though_it_paused_then() -> None:
    values = [0] * 5 + [LOUD, LOUD, 0, LOUD + 2] + [0] * 8
    assert told(hear(values, deaf_at=lambda t: t < 0.75)) == [("9002", TALKING)]


def test_the_technician_who_is_spoken_over_is_asked_again() -> None:
    values = [0] * 5 + [LOUD + 1] * 2 + [LOUD + 2] * 5 + [0] * 8
    found = hear(values, deaf_at=lambda t: 0.75 < t < 1.2)
    assert told(found) == [("9001 9001", TALKED_OVER)]


def test_a_line_that_was_whole_when_fieldvoice_begins_is_taken() -> None:
    quiet = 5  # a word for the fake recognizer, and silence for the rest
    values = [0] * 8 + [LOUD + 1] * 2 + [quiet] * 7 + [0] * 8
    (found,) = hear(values, deaf_at=lambda t: t > 1.65)
    assert isinstance(found, Line)
    assert found.words.startswith("9001 9001 5")


def test_what_lacks_a_part_is_asked_for_again() -> None:
    values = [0] * 5 + [LOUD + 1, LOUD + 2, *[0] * 9, LOUD + 3, 0]
    found = hear(values, gap_before=6)
    assert told(found) == [("9001 9002", MISSED), ("9003", "")]


@pytest.mark.parametrize("at", [3, 9])
def test_a_gap_in_silence_cuts_nothing(at: int) -> None:
    assert told(hear([0] * 10 + [LOUD + 1, 0], gap_before=at)) == [("9001", "")]


def test_the_talk_key_ends_the_line_and_nothing_else_is_heard() -> None:
    values = [LOUD + 9] * 3 + [LOUD + 1, LOUD + 2] + [LOUD + 8] * 5
    found = hear(values, off_at=lambda t: not 0.25 < t < 0.45)
    assert told(found) == [("9001 9002", "")]


def test_too_loud_a_line_says_so() -> None:
    (soft,), (loud,) = hear([0] * 5 + [9_000, 0]), hear([0] * 5 + [32_700, 0])
    assert isinstance(soft, Line)
    assert isinstance(loud, Line)
    assert (soft.clipped, loud.clipped) == (False, True)


@pytest.mark.parametrize(
    ("values", "loud"),
    [([20] * 10, False), ([20] * 10 + [LOUD] * 2, True), ([LOUD] * 10, False),
     ([20] * 10 + [LOUD] * 2 + [20] * 5, True),
     ([20] * 10 + [LOUD] * 2 + [20] * 10, False), ([0] * 10 + [20] * 2, False)],
)  # fmt: skip
def test_someone_seems_to_begin_where_it_gets_louder_than_it_was(
    values: list[int], loud: bool
) -> None:
    spoken = Spoken(FakeRecognizer())
    assert not spoken.loud()
    for block in blocks(values):
        list(spoken.hear(block))
    assert spoken.loud() is loud


class Late(FakeRecognizer):
    """Gives a line only when the next one has begun."""

    waiting = None

    def feed(self, chunk: np.ndarray) -> Utterance | None:  # type: ignore[type-arg]
        ended = super().feed(chunk)
        if ended and ended.words:
            self.waiting = ended
        if not chunk[0] or self.waiting is None:
            return None
        given, self.waiting = self.waiting, None
        return given

    def open_s(self) -> float:
        return len(self.open) * STEP_S


def test_a_line_that_is_given_late_leaves_the_next_one_its_sound() -> None:
    spoken = Spoken(Late())
    found = [one for block in blocks([0, 0, 0, 1, 0, 2, 3, 0, 4]) for one in spoken.hear(block)]
    assert told(found) == [("1", ""), ("2 3", "")]
    assert [f.sound[::1_600].tolist() for f in found if f.sound is not None] == [
        [0, 0, 0, 1, 0], [2, 3, 0]]


def test_two_lines_that_are_open_when_the_key_goes_off_are_both_given() -> None:
    class Two(FakeRecognizer):
        def finish(self) -> Utterance | None:
            return Utterance(self.open.pop(0), 0.9) if self.open else None

    spoken = Spoken(Two(), off_at=lambda t: t > 0.15)
    found = [one for block in blocks([1, 2, 0]) for one in spoken.hear(block)]
    assert [one.words for one in found] == ["1", "2"]
