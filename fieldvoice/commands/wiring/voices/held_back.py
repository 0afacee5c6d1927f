"""How lines are heard that were held back: without what was learned, and with it."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from fieldvoice.commands.wiring.heard_line import meanings
from fieldvoice.commands.wiring.hearing.loudness import clarity
from fieldvoice.commands.wiring.models import load_recognizer
from fieldvoice.commands.wiring.voices.spoken_lines import SpokenLine
from fieldvoice.devices.recognizer import Recognizer
from fieldvoice.dialogue.assistant import decide
from fieldvoice.dialogue.confidence import Decision
from fieldvoice.language.intents import NotUnderstood
from fieldvoice.language.parser import understand
from fieldvoice.ownvoice.disturbed import beside_noise, in_a_quiet_room
from fieldvoice.ownvoice.verdict import Hearing

PARTS = 3  # each is held back once, while the others are learned from
MOST = 75  # lines that are heard: more would take minutes
NOISE_DB = 8.0  # that the speech is louder than the noise of the second hearing


def parts(known: Sequence[int]) -> list[list[int]]:
    """Numbers of lines, as they are held back together: spread evenly over all."""
    judged = [known[round(k)] for k in np.linspace(0, len(known) - 1, min(MOST, len(known)))]
    return [judged[part::PARTS] for part in range(PARTS)]


def heard(model: Path, lines: Sequence[tuple[int, SpokenLine]]) -> list[Hearing]:
    """Each line, with its number, heard twice: quiet and beside noise, the same every time."""
    recognizer = load_recognizer(model)
    return [_hearing(recognizer, number, line, sound)
            for number, line in lines for sound in _twice(line.sound)]


def _hearing(
    recognizer: Recognizer, number: int, line: SpokenLine, sound: NDArray[np.int16]
) -> Hearing:
    utterance, said = recognizer.hear(sound), understand(line.words, typed=False)
    ways = [(way.words, way.share) for way in utterance.ways] or [("", 1.0)]
    found = meanings(ways, clarity(sound, unlike=utterance.unlike))
    best = found[0]
    taken = not isinstance(best.intent, NotUnderstood) and (
        decide(best.intent, best.confidence, best.words) is Decision.ACCEPT)
    belief = sum(one.confidence for one in found if one.intent == said)
    # of a single word other rules decide too: how sure it is tells less of the speaker
    sure = best.confidence if len(best.words.split()) > 1 else None
    return Hearing(number, utterance.words == line.words, best.intent == said, taken, belief, sure)


def _twice(sound: NDArray[np.int16]) -> list[NDArray[np.int16]]:
    rng = np.random.default_rng(len(sound))
    whole = in_a_quiet_room(sound, rng)
    disturbed = beside_noise(whole, sound, NOISE_DB, tilt=0.5, rng=rng)
    return [np.clip(s.round(), -32_768, 32_767).astype(np.int16) for s in (whole, disturbed)]
