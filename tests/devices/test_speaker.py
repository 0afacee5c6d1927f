"""The voice: real synthesis, a list for a loudspeaker."""

import numpy as np
import pytest
from fieldvoice.devices.speaker import RATES, Speaker, SpeakerError, amplified, synthesize
from numpy.typing import NDArray

Played = list[tuple[NDArray[np.int16], int]]
LINE = "Logged four hundred twelve microns."


def heard_by(played: Played, *undoable: str) -> list[NDArray[np.int16]]:
    """What a speaker plays when it is told each deed: a change of voice, or a text to say."""
    troubles: list[str] = []
    speaker = Speaker(troubles.append, lambda samples, rate: played.append((samples, rate)))
    for deed in undoable:
        if deed.islower():
            speaker.change(deed)
        else:
            speaker.say(deed)
            speaker.wait()
    speaker.close()
    assert troubles == []
    return [samples for samples, _ in played]


def test_texts_are_said_whole_and_in_order() -> None:
    short, long = heard_by([], "Next.", LINE)
    assert 0.2 < len(short) / 22_050 < 1.5
    assert len(long) > 2 * len(short)
    assert np.abs(long.astype(int)).max() > 5_000


def test_slower_takes_longer_and_faster_less() -> None:
    usual, slow, fast = heard_by([], LINE, "slower", LINE, "faster", "faster", LINE)
    assert len(fast) < len(usual) < len(slow)


def test_a_pace_is_kept_each_time() -> None:
    length = {pace: len(synthesize(LINE, pace)[0]) for pace in RATES}
    for turn in range(150):
        pace = RATES[(5 * turn + turn // 7) % len(RATES)]
        assert len(synthesize(LINE, pace)[0]) == pytest.approx(length[pace], rel=0.02)


def test_louder_and_softer_change_the_power() -> None:
    usual, loud, soft = heard_by([], LINE, "louder", LINE, "softer", "softer", LINE)
    power = [float(np.mean(x.astype(float) ** 2)) for x in (soft, usual, loud)]
    assert power[0] < 0.5 * power[1]
    assert power[2] > 1.5 * power[1]


def test_the_ends_of_the_scale_hold() -> None:
    assert len(heard_by([], *["louder"] * 20, *["faster"] * 20, LINE)) == 1


def test_quiet_says_nothing_until_aloud() -> None:
    assert len(heard_by([], "quiet", LINE, LINE, "aloud", LINE)) == 1


def test_an_unknown_change_is_refused() -> None:
    with pytest.raises(ValueError, match="squeaky"):
        Speaker(lambda text: None, lambda samples, rate: None).change("squeaky")


def test_the_microphone_is_deaf_from_the_order_to_the_tail() -> None:
    states: list[bool] = []
    speaker = Speaker(lambda text: None, lambda samples, rate: states.append(speaker.speaking()))
    assert not speaker.speaking()
    speaker.say(LINE)
    assert speaker.speaking()
    speaker.wait()
    assert speaker.speaking()  # the tail
    assert states == [True]


def test_a_loudspeaker_that_fails_is_told_once_and_again_only_after_it_worked() -> None:
    troubles: list[str] = []
    works = iter([False, False, True, False])

    def play(samples: NDArray[np.int16], rate: int) -> None:
        if not next(works):
            raise SpeakerError("unplugged")

    speaker = Speaker(troubles.append, play)
    for expected in (1, 1, 1, 2):
        speaker.say("Next.")
        speaker.wait()
        assert troubles == ["unplugged"] * expected


def test_loud_samples_are_rounded_off_and_not_wrapped() -> None:
    loud = amplified(np.array([30_000, -30_000], dtype=np.int16), 12.0)
    assert loud[0] > 30_000
    assert loud[1] < -30_000
