"""Speak training sentences into shards: `python -m fieldvoice.training.speech.synthesize`."""

from __future__ import annotations

import argparse
import itertools
import random
import time
from collections.abc import Callable, Iterator
from pathlib import Path

from fieldvoice.language.decoding_graph import random_sentence
from fieldvoice.training.speech import sentences, short_text, voices
from fieldvoice.training.speech.shards import About, Utterance, write_shard
from fieldvoice.training.speech.symbols import HELD_OUT

SHARD = 100  # utterances a file: what a stop can lose


def grammar_sentences(seed: int) -> Iterator[str]:
    """Endless sentences drawn from the grammar as its weights say."""
    rng = random.Random(seed)
    while True:
        yield " ".join(random_sentence(rng))


TEXTS: dict[str, Callable[[int], Iterator[str]]] = {
    "training": sentences.sentences,
    "grammar": grammar_sentences,
    "talk": sentences.talk,
    "digits": short_text.digits,
    "short": short_text.short,
}


def choose_phones(words: list[str], lexicon: dict[str, list[list[str]]], rng: random.Random,
                  first_only: bool) -> list[list[str]]:  # fmt: skip
    """Pick one pronunciation a word; synthesizers that read letters most often take the first."""
    alternatives = [lexicon[w] for w in words]
    return [a[0] if first_only or rng.random() < 0.7 else rng.choice(a) for a in alternatives]


def make(kind: str, data: Path) -> voices.Synthesizer:
    """Build the synthesizer named `kind`; neural ones read their model below `data`."""
    makers: dict[str, Callable[[], voices.Synthesizer]] = {
        "kokoro": lambda: voices.Kokoro(data / "kokoro", HELD_OUT),
        "kokoro-held-out": lambda: voices.Kokoro(data / "kokoro", set(), HELD_OUT),
        "flite": voices.Flite,
        "festival": voices.Festival,
        "festival-hts": lambda: voices.Festival(("cmu_us_slt_arctic_hts",)),
        "espeak": voices.Espeak,
        "pico": voices.Pico,
        "piper": lambda: voices.Piper(data / "piper"),
    }
    return makers[kind]()


def run(
    kind: str, data: Path, out: Path, seed: int, seconds: float, source: Iterator[str]
) -> None:
    """Fill shards with the sentences of `source` until they end or `seconds` have passed."""
    speak, lexicon, rng = make(kind, data), sentences.lexicon(), random.Random(seed)
    deadline = time.monotonic() + seconds
    out.mkdir(parents=True, exist_ok=True)
    spoken_s = 0.0
    for shard in itertools.count():
        spoken: list[Utterance] = []
        for sentence in itertools.islice(source, SHARD):
            words = sentence.split()
            phones = choose_phones(words, lexicon, rng, first_only=not kind.startswith("kokoro"))
            said = speak(words, phones, rng)
            about = About.unstressed(words, phones, said.voice)
            spoken.append(Utterance(voices.to_pcm(said.sound), about))
            if time.monotonic() >= deadline:
                break
        spoken_s += sum(len(u.sound) for u in spoken) / voices.RATE
        if spoken:
            write_shard(out / f"{kind}-{seed}-{shard:04d}", spoken)
        print(f"{kind} seed {seed}: shard {shard}, {spoken_s / 3600:.2f} h", flush=True)
        if len(spoken) < SHARD or time.monotonic() >= deadline:
            return


def main() -> None:
    """Read the arguments."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("kind", help="kokoro, flite, festival, espeak, pico, piper, ...")
    parser.add_argument(
        "--data", type=Path, required=True, help="folder with kokoro/ and piper/ models"
    )
    parser.add_argument("--out", type=Path, required=True, help="folder for the shards")
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--seconds", type=float, default=3600.0)
    parser.add_argument("--text", choices=TEXTS, default="training")
    parser.add_argument("--sentences", type=int, help="stop after so many")
    a = parser.parse_args()
    source = itertools.islice(TEXTS[a.text](a.seed), a.sentences)
    run(a.kind, a.data, a.out, a.seed, a.seconds, source)


if __name__ == "__main__":
    main()
