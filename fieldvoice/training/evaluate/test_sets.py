"""What the recognizers are measured on: sets by name and source, and the conditions of each."""

from __future__ import annotations

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

from fieldvoice.language.decoding_graph import compile_acceptor
from fieldvoice.training.evaluate import human_numbers, samples
from fieldvoice.training.evaluate.conditions.site_sounds import NOISES
from fieldvoice.training.evaluate.samples import (
    BABBLE,
    CLEAN,
    MACHINES,
    TELEPHONE,
    TIGHT,
    TIGHT_HISS,
    Sample,
)
from fieldvoice.training.speech import wordless_sound

LINES, NUMBER, TALK, UNSPOKEN, ROWS = "lines", "numbers", "talk", "unspoken", "in a row"
NUMBERS, NUMBERS_SEED = 200, 904
READINGS, READINGS_SEED = 100, 906
STRINGS, STRINGS_SEED = 60, 908
SAMPLE = 50  # sentences of each synthetic voice set that the slow peers hear
UNSPOKEN_SEED = 907
THINNED = {20: 4, 5: 2, 0: 5}  # at so many decibels every nth sentence is enough
SITE = {  # noises and ways of sound beyond machines; every nth sentence is heard under each
    **{f"{name} 10": 5 for name in (BABBLE, *NOISES)},
    **{f"{way}": 5 for way in ("clipped 6", "clipped 12", "clipped 18", "gain steps", "room 0.5",
                               "room 1.0", "far")},
}  # fmt: skip
RECORDED_DB = (10, 5)
QUICK, QUICK_SITE = 30, 15  # sentences at most under a condition, and under one of a site
QUICK_DB = (10, 5)
WRITERS = ("whisper", "whisper-base")
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
                {CLEAN: 1, f"{MACHINES} 10": 1}, WRITERS),
        TestSet("talk", TALK, "runs of everyday words, not for Fieldvoice, in the same voices",
                talk, {CLEAN: 1, f"{MACHINES} 10": 1 if thorough else 4}),
    ]  # fmt: skip


def of_people(folder: Path, half: str) -> list[TestSet]:
    """Single words, numbers digit by digit, accents: those of them that the folder holds."""
    lines = {CLEAN: 1, f"{MACHINES} 10": 1}
    found = [
        TestSet("short", LINES, "single words, digits and commands, in voices kept out of training",
                part(samples.from_shards(folder / "short"), half), short_conditions()),
        TestSet("digits", LINES, "numbers digit by digit and as gauges are read aloud, in the same "
                "voices", part(samples.from_shards(folder / "digits"), half), lines),
    ] if (folder / "short").is_dir() and (folder / "digits").is_dir() else []  # fmt: skip
    accents = sorted(path for path in (folder / "accents").glob("*") if path.is_dir())
    return found + [
        TestSet(f"accent {path.name}", LINES, f"grammar sentences with the sounds of {path.name} "
                "English, in voices kept out of training",
                part(samples.from_shards(path), half), lines) for path in accents
    ]  # fmt: skip


def short_conditions() -> dict[str, int]:
    """Of single words: cut tightly they have nothing soft around them."""
    return {CLEAN: 1, TIGHT: 1, TIGHT_HISS: 1, f"{MACHINES} 10": 1}


def on_site(lines: TestSet, recorded: Iterable[str]) -> TestSet:
    """The set with the noises and ways of a site as conditions too, recorded ones where given."""
    noises = {f"{name} {db}": 5 for name in recorded for db in RECORDED_DB}
    return replace(lines, conditions={**lines.conditions, **SITE, **noises})


def quick(sets: Iterable[TestSet]) -> list[TestSet]:
    """The lines alone, few of them under each condition: a first look that takes minutes.

    Talk, rows and sound without words are left out, and so are telephones and other decibels.
    """
    return [replace(one, conditions=_few(one)) for one in sets if one.kind in (LINES, NUMBER)]


def _few(one: TestSet) -> dict[str, int]:
    found = {}
    for condition, every in one.conditions.items():
        name, _, amount = condition.rpartition(" ")
        beyond = name == MACHINES and int(amount) not in QUICK_DB
        if condition != TELEPHONE and not beyond:
            site = condition in SITE or name.startswith("recorded ")
            few = QUICK_SITE if site else QUICK
            found[condition] = max(every, -(-len(one.clean) // few))
    return found


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
    """A real person's numbers and readings."""
    conditions = {CLEAN: 1, "vacuum pump 10": 1, "white 10": 1, "clipped 18": 2}
    return [
        TestSet("person", NUMBER, "numbers 0-19,999 of a real person, drawn evenly",
                human_numbers.numbers(prompts, NUMBERS, NUMBERS_SEED), conditions,
                ("pocketsphinx", *WRITERS)),
        TestSet("person readings", LINES, "readings and other lines of the same person",
                human_numbers.readings(prompts, compile_acceptor(), READINGS, READINGS_SEED),
                conditions, WRITERS),
    ]  # fmt: skip


def second_speaker(folder: Path) -> TestSet:
    """Digits of another speaker than the person of the other sets."""
    return TestSet("second speaker", NUMBER, "digits of a second speaker, alone and three to five "
                   "one by one", human_numbers.digit_strings(folder, STRINGS, STRINGS_SEED),
                   {CLEAN: 1, f"{MACHINES} 10": 1, TIGHT: 1},
                   ("pocketsphinx", *WRITERS))  # fmt: skip


def human_talk(prompts: Path) -> TestSet:
    """The same person's talk."""
    return TestSet("person talk", TALK, "telephone phrases of the same person, and some music",
                   human_numbers.phrases(prompts), {CLEAN: 1})  # fmt: skip


def without_words(minutes: float) -> TestSet:
    """An empty room, machines alone, knocks: heard as an endless stream."""
    return TestSet("unspoken", UNSPOKEN, "sound without a word in it, as an endless stream",
                   wordless_sound.minutes_of_sound(minutes, UNSPOKEN_SEED), {CLEAN: 1})  # fmt: skip
