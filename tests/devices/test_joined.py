"""Two utterances as one: its ways are those of both, and its belief that in the weaker."""

import pytest

from fieldvoice.devices.joined import MOST_WAYS, joined
from fieldvoice.devices.recognizer import Utterance, Way, Word

FIRST = Utterance(
    "four hundred", 0.9, (Word("four", 0.0, 0.2, 0.9), Word("hundred", 0.2, 0.5, 1.0)),
    (Way("four hundred", 0.9), Way("nine hundred", 0.1)),
)  # fmt: skip
SECOND = Utterance("twelve", 0.8, (Word("twelve", 0.1, 0.4, 0.8),),
                   (Way("twelve", 0.8), Way("ten", 0.2)))  # fmt: skip


def test_every_way_of_one_goes_with_every_way_of_the_other() -> None:
    ways = {way.words: way.share for way in joined(FIRST, SECOND).ways}
    assert list(ways) == [
        "four hundred twelve", "four hundred ten", "nine hundred twelve", "nine hundred ten",
    ]  # fmt: skip
    assert list(ways.values()) == pytest.approx([0.72, 0.18, 0.08, 0.02])


def test_words_follow_one_another_and_the_least_certain_counts() -> None:
    one = joined(FIRST, SECOND)
    assert one.words == "four hundred twelve"
    assert one.confidence == 0.8
    assert [part.text for part in one.parts] == one.words.split()
    assert all(a.end <= b.start for a, b in zip(one.parts, one.parts[1:], strict=False))


def test_no_more_ways_than_one_utterance_has_and_they_add_to_one() -> None:
    many = Utterance("a", 0.5, (), tuple(Way(f"a {n}", 1 / 8) for n in range(8)))
    ways = joined(many, many).ways
    assert len(ways) == MOST_WAYS
    assert sum(way.share for way in ways) == pytest.approx(1.0)
