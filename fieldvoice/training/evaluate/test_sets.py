"""What the recognizers are measured on: sets by name and source, and the conditions of each."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from fieldvoice.language.decoding_graph import compile_acceptor
from fieldvoice.training.evaluate import human_numbers, samples
from fieldvoice.training.evaluate.samples import CLEAN, MACHINES, TELEPHONE, Sample
from fieldvoice.training.speech import wordless_sound

NUMBERS, NUMBERS_SEED = 200, 904
READINGS, READINGS_SEED = 100, 906
SAMPLE = 50  # sentences of each synthetic voice set that the slow peers hear
UNSPOKEN_SEED = 907
THINNED = {20: 4, 5: 2, 0: 5}  # at so many decibels every nth sentence is enough
LINES, NUMBER, TALK, UNSPOKEN, ROWS = "lines", "numbers", "talk", "unspoken", "in a row"
IN_ROWS = 144  # sentences of several words that are said one after another
PAUSES_S = (0.4, 0.5, 0.6, 0.7, 0.8, 1.0, 1.3)


@dataclass(frozen=True)
class TestSet:
    """Sentences and the conditions that they are heard under."""

    __test__ = False  # not a case of pytest

    name: str
    kind: str  # LINES for Fieldvoice, ROWS of them, NUMBER, TALK that is not, UNSPOKEN
    about: str
    clean: list[Sample]
    conditions: Mapping[str, int]  # each with n: every nth sentence is heard under it
    peers: tuple[str, ...] = ()  # who hears it besides Fieldvoice


def noisy(decibels: Sequence[int], thorough: bool) -> dict[str, int]:
    """Clean, as through a telephone, and beside one machine after the other."""
    thinned = {TELEPHONE: 4} | {f"{MACHINES} {db}": THINNED.get(db, 1) for db in decibels}
    return {CLEAN: 1} | (dict.fromkeys(thinned, 1) if thorough else thinned)


def part(clean: list[Sample], half: str) -> list[Sample]:
    """One half of a set: settings are chosen on "tune" and reported on "report"."""
    return {"all": clean, "tune": clean[0::2], "report": clean[1::2]}[half]


def synthetic(
    folder: Path, half: str, decibels: Sequence[int], thorough: bool
) -> list[TestSet]:
    """Sentences of the grammar, and talk, in voices that were kept out of training.

    `thorough`: every sentence under every condition, which takes hours.
    """
    joe, kokoro, talk = (
        part(samples.from_shards(folder / name), half) for name in ("joe", "kokoro", "talk")
    )
    return [
        TestSet("joe", LINES, "grammar sentences, neural voice of another make than any in "
                "training", joe, noisy(decibels, thorough)),
        TestSet("kokoro", LINES, "grammar sentences, four neural voices kept out of training",
                kokoro, noisy(decibels, thorough)),
        TestSet("sample", LINES, "sentences with a value, from both sets above, that the slow "
                "peer heard too", [*_valued(joe)[:SAMPLE], *_valued(kokoro)[:SAMPLE]],
                {CLEAN: 1, f"{MACHINES} 10": 1}, ("whisper",)),
        TestSet("talk", TALK, "runs of everyday words, not for Fieldvoice, in the same voices",
                talk, {CLEAN: 1, f"{MACHINES} 10": 1 if thorough else 4}),
    ]  # fmt: skip


def in_rows(lines: TestSet) -> TestSet:
    """Some of the lines again, one after another as on the job; the conditions are the pauses."""
    several = [sample for sample in lines.clean if len(sample.words) > 1][:IN_ROWS]
    apart = [f"{pause} s apart" for pause in PAUSES_S]
    noisy = [f"{pause}, {MACHINES} 10" for pause in apart]
    return TestSet("in a row", ROWS, f"of the first set's sentences, {samples.ROW} one after "
                   "another, by the pause between them: heard as at work, with early ends, and as "
                   "the engine alone ends them", several,
                   dict.fromkeys([*apart, *noisy, *(f"{p}, engine alone" for p in apart[2::3])], 1)
                   )  # fmt: skip


def _valued(clean: list[Sample]) -> list[Sample]:
    from fieldvoice.language.parser import understand
    from fieldvoice.training.evaluate.scoring import carries_value

    return [s for s in clean if carries_value(understand(" ".join(s.words), typed=False))]


def human(prompts: Path) -> list[TestSet]:
    """A real person's numbers, readings, and talk."""
    conditions = {CLEAN: 1, "vacuum pump 10": 1, "white 10": 1}
    return [
        TestSet("person", NUMBER, "numbers 0-19,999 of a real person, drawn evenly",
                human_numbers.numbers(prompts, NUMBERS, NUMBERS_SEED), conditions,
                ("pocketsphinx", "whisper")),
        TestSet("person readings", LINES, "readings and other lines of the same person",
                human_numbers.readings(prompts, compile_acceptor(), READINGS, READINGS_SEED),
                conditions, ("whisper",)),
        TestSet("person talk", TALK, "telephone phrases of the same person, and some music",
                human_numbers.phrases(prompts), {CLEAN: 1}),
    ]  # fmt: skip


def without_words(minutes: float) -> TestSet:
    """An empty room, machines alone, knocks: heard as an endless stream."""
    return TestSet("unspoken", UNSPOKEN, "sound without a word in it, as an endless stream",
                   wordless_sound.minutes_of_sound(minutes, UNSPOKEN_SEED), {CLEAN: 1})  # fmt: skip
