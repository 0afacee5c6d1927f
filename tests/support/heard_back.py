"""Whether what Fieldvoice says aloud is heard back by its own ear with the numbers right.

    cd tests && python -m support.heard_back           # every reply and unit: minutes
    cd tests && python -m support.heard_back espeak    # another voice than the usual one

A reply is spoken into a file by the voice that answers on a job, and heard by the shipped model in
two ways: each number with its unit as a reading of its own, by the whole grammar; and the whole
reply, by a list of what the replies say. Figures only; a test holds some of them.
"""

from __future__ import annotations

import re
import sys
from collections.abc import Iterable, Iterator
from functools import cache

import numpy as np

from fieldvoice.devices.mouth import RATES, VOICES, Voices
from fieldvoice.devices.mouth.loudspeaker import RATE as SPOKEN_RATE
from fieldvoice.devices.mouth.pieces import pieces
from fieldvoice.devices.recognizer import RATE, Recognizer
from fieldvoice.devices.soundfile import resample, to_int16
from fieldvoice.devices.vosk_recognizer import OWN_MODEL, VoskRecognizer
from fieldvoice.language.decoding_graph import words
from fieldvoice.language.intents import NotUnderstood
from fieldvoice.language.parser import understand
from fieldvoice.language.speech_text import figures, say, spoken_units
from support.shipped_acceptor import shipped_acceptor
from support.transcripts import TRANSCRIPTS

USUAL_RATE = RATES[2]
VALUES = ("1", "104", "3.5", "412", "1,250", "29.9", "0.8", "15", "50", "118", "-5", "9,600")


def replies() -> list[str]:
    """Every reply of the kept transcripts, once."""
    texts = (path.read_text("utf-8") for path in TRANSCRIPTS)
    return sorted({said for text in texts for said in re.findall(r"^    \w+: (.*)$", text, re.M)})


def values() -> list[str]:
    """A value of every sort in every unit that can be said and heard."""
    texts = [f"{value} {unit}" for unit in spoken_units() for value in VALUES]
    return [text for text in texts if is_hearable(text)]


def is_hearable(text: str) -> bool:
    """Whether the spoken words of a number with its unit are among what can be heard."""
    (said,) = figures(text) or ("",)
    return shipped_acceptor().cost(said.split()) is not None


def sound(text: str, words_a_minute: int = USUAL_RATE) -> np.ndarray:
    """16 kHz samples of a text as it is said on a job."""
    samples = np.concatenate(
        [voices().say(piece, words_a_minute) for piece in pieces(say(text))]
    )
    return to_int16(resample(samples / 32768.0, SPOKEN_RATE, RATE))


@cache
def voices() -> Voices:
    """The usual voice, or the one that the command line names."""
    return Voices(next((name for name in sys.argv[1:] if name in VOICES), None))


@cache
def ear() -> Recognizer:
    """Hears the whole grammar."""
    return VoskRecognizer(OWN_MODEL)


@cache
def ear_for_replies() -> Recognizer:
    """Hears the numbers and known words of the replies, in any order."""
    known, texts = set(words()), [*replies(), *values()]
    said = {figure for text in texts for figure in figures(text)}
    spoken = {word for text in texts for word in re.findall(r"[a-z']+", say(text).lower())}
    return VoskRecognizer(OWN_MODEL, sorted(said | (spoken & known)))


def heard_figure(figure: str, words_a_minute: int = USUAL_RATE) -> tuple[bool, str]:
    """Whether a number with its unit comes back, and the words heard."""
    heard = ear().hear(sound(figure, words_a_minute)).words
    meant, got = understand(figure, typed=False), understand(heard, typed=False)
    same = meant == got and not isinstance(meant, NotUnderstood)
    return heard == figure or same, heard


def heard_reply(text: str) -> tuple[bool, str]:
    """Whether a reply's numbers come back, each whole and in order, and the words heard."""
    heard = ear_for_replies().hear(sound(text)).words
    pattern = r".*".join(rf"\b{re.escape(figure)}\b" for figure in figures(text))
    return re.search(pattern, heard) is not None, heard


def shares(texts: Iterable[str], rates: Iterable[int]) -> Iterator[str]:
    """A line for each pace of the voice: how many numbers come back, and which do not."""
    said = sorted({figure for text in texts for figure in figures(text)})
    for rate in rates:
        missed = [(f, heard) for f in said for right, heard in [heard_figure(f, rate)] if not right]
        yield f"{len(said) - len(missed)} of {len(said)} at {rate} words a minute"
        yield from (f"    {figure!r} was heard as {heard!r}" for figure, heard in missed)


def main() -> None:
    """Print what comes back."""
    for about, texts, rates in (
        ("Numbers in the replies", replies(), RATES), ("Every unit", values(), (USUAL_RATE,)),
    ):  # fmt: skip
        print(about)
        for line in shares(texts, rates):
            print(f"  {line}", flush=True)
    print("Whole replies with numbers")
    numbered = [text for text in replies() if figures(text)]
    missed = [(t, heard) for t in numbered for right, heard in [heard_reply(t)] if not right]
    print(f"  {len(numbered) - len(missed)} of {len(numbered)}")
    for text, heard in missed:
        print(f"    {text!r} was heard as {heard!r}")


if __name__ == "__main__":
    main()
