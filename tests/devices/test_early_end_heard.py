"""With the shipped model: a line that is ended early is heard as one that a long silence ended."""

from collections.abc import Callable
from functools import cache, partial

import numpy as np
import pytest
from numpy.typing import NDArray

from fieldvoice.devices.dozing import Dozing
from fieldvoice.devices.early_end import EarlyEnd
from fieldvoice.devices.recognizer import RATE, Recognizer, Utterance
from fieldvoice.devices.vosk_recognizer import OWN_MODEL, VoskRecognizer
from fieldvoice.language.intents import Intent, Reading
from fieldvoice.language.line_end import SHORTEST_S, line_end, one_line
from support.demo_line import spoken

Sound = NDArray[np.int16]
LINES = ("next", "start the hold", "understood", "no bubbles", "four seventy five p s i g",
         "two seventy microns", "nitrogen pressure four seventy five", "done")  # fmt: skip
CHUNK = 640  # 40 ms
pytestmark = pytest.mark.skipif(
    not (OWN_MODEL / "am" / "final.mdl").is_file(),
    reason="the speech model is not in this checkout",
)

@cache
def engine() -> Recognizer:
    return VoskRecognizer(OWN_MODEL)


def stream(*parts: Sound | float) -> Sound:
    """Sounds and silences of so many seconds, in a quiet room."""
    rng = np.random.default_rng(7)
    whole = np.concatenate([
        np.zeros(round(part * RATE)) if isinstance(part, float) else part for part in (1.0, *parts)
    ])  # fmt: skip
    return np.clip(whole + 3 * rng.standard_normal(len(whole)), -32768, 32767).astype(np.int16)


def heard(
    sound: Sound, early: bool = True, waits_for: Callable[[Intent], bool] = lambda said: False
) -> list[tuple[Utterance, float]]:
    """The utterances with words, and the second in which each came."""
    told = partial(line_end, waits_for=waits_for), partial(one_line, waits_for=waits_for)
    ear = EarlyEnd(engine(), *told, SHORTEST_S) if early else engine()
    return [(found, end / RATE) for found, end in ear.hear_ends(sound, CHUNK) if found.words]


@pytest.mark.parametrize("text", LINES)
def test_the_words_are_the_same_and_as_sure_and_come_sooner(text: str) -> None:
    sound = stream(spoken(text), 3.0)
    ((late, late_s),) = heard(sound, early=False)
    ((soon, soon_s),) = heard(sound)
    assert (late.words, soon.words) == (text, text)
    assert soon.confidence == pytest.approx(late.confidence, abs=0.1)
    assert soon.ways[0].share == pytest.approx(late.ways[0].share, abs=0.1)
    assert [part.text for part in soon.parts] == text.split()
    assert soon_s < late_s


@pytest.mark.parametrize("gap_s", [0.4, 0.5, 0.6, 0.8, 1.3])
def test_lines_one_after_another_come_each_once_and_whole(gap_s: float) -> None:
    parts: list[Sound | float] = []
    for text in LINES:
        parts += [spoken(text), gap_s]
    assert [one.words for one, _ in heard(stream(*parts, 1.0))] == list(LINES)


@pytest.mark.parametrize("gap_s", [0.45, 0.6, 0.75])
@pytest.mark.parametrize(
    "texts",
    [
        ("suction pressure fifty five", "outdoor temperature eighty eight", "next"),
        ("ambient temperature seventy five", "nitrogen pressure four forty five"),
        ("refrigerant amount five pounds", "ambient temperature sixty six"),
    ],
)
def test_readings_that_could_be_one_sentence_come_one_by_one(
    texts: tuple[str, ...], gap_s: float
) -> None:
    parts: list[Sound | float] = []
    for text in texts:
        parts += [spoken(text), gap_s]
    assert tuple(one.words for one, _ in heard(stream(*parts, 1.0))) == texts


@pytest.mark.parametrize("pause_s", [0.45, 0.6, 0.7])
def test_a_reading_with_a_pause_in_it_is_one_line(pause_s: float) -> None:
    name, number = spoken("unit one"), spoken("two seventy five")
    found = heard(stream(name, pause_s, number, 2.0))
    assert [one.words for one, _ in found] == ["unit one two seventy five"]


def test_a_long_silence_before_a_line_takes_nothing_from_it() -> None:
    ((found, _),) = heard(stream(12.0, spoken("start the hold"), 1.5))
    assert found.words == "start the hold"


def microns(said: Intent) -> bool:
    """What a job waits for: a vacuum, after three hundred ten."""
    return isinstance(said, Reading) and said.unit is None and 50 < said.value < 1200


def test_readings_that_the_job_waits_for_are_known_before_the_next_ones_are_said() -> None:
    texts, gap_s = ("three hundred", "two ninety one", "two eighty", "two eighty seven"), 0.85
    parts: list[Sound | float] = [part for text in texts for part in (spoken(text), gap_s)]
    lasts = [len(spoken(text)) / RATE + gap_s for text in texts]
    starts = [1.0 + sum(lasts[:at]) for at in range(1, len(texts))]
    found = heard(stream(*parts, 1.0), waits_for=microns)
    assert tuple(one.words for one, _ in found) == texts
    assert all(came < start for (_, came), start in zip(found, starts, strict=False))


def test_a_whole_one_is_known_as_soon_as_any_sentence() -> None:
    for text, soon_s in (("two ninety one", 0.55), ("three hundred", 0.85)):
        begun = 1.0 + len(spoken(text)) / RATE
        ((_, waited_for),) = heard(stream(spoken(text), 2.0), waits_for=microns)
        ((_, as_ever),) = heard(stream(spoken(text), 2.0))
        assert waited_for - begun < soon_s < as_ever - begun + 0.1
        assert waited_for < as_ever


def test_a_line_cut_within_a_word_writes_nothing_to_the_screen(
    capfd: pytest.CaptureFixture[str],
) -> None:
    ear, whole = engine(), spoken("nitrogen pressure four seventy five")
    for end in range(11_400, 20_500, 700):
        ear.forget()
        ear.feed(whole[:end])
        while ear.finish():
            pass
    assert capfd.readouterr() == ("", "")


def test_lines_after_rests_of_the_engine_are_heard_as_without_them() -> None:
    sound = stream(*(part for text in LINES for part in (5.0, spoken(text))), 2.0)
    dozing = Dozing(engine())
    ear = EarlyEnd(dozing, line_end, one_line, SHORTEST_S)
    rested, lines = 0, list[str]()
    for at in range(0, len(sound), CHUNK):
        found = ear.feed(sound[at : at + CHUNK])
        rested += dozing.dozes
        lines += [found.words] if found else []
    assert lines == list(LINES)
    assert rested * CHUNK / RATE > 2.0 * len(LINES)
