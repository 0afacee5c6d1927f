"""The lexicon as a transducer from transition ids to words (HCL); [unk] is a loop of phones.

Words that can begin a sentence are in it twice: the second time after a pause, under a name of
their own, so that two sentences with a pause between them can be heard as two.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass

from fieldvoice.devices.vosk_result import BEGINS
from fieldvoice.training.graph.openfst import Fst
from fieldvoice.training.network.kaldi_nnet import SILENCE, Transitions, kaldi_phones
from fieldvoice.training.network.shape import PHONES

UNKNOWN = "[unk]"


@dataclass(frozen=True)
class Costs:
    """Costs (natural logarithms) of the choices that the grammar does not weigh."""

    silence: float = 0.69  # a pause between words or none: even odds
    # Each output of blank inside a word, so that a pause becomes silence, which the decoder's
    # end-pointing counts, and not a long last phone: at 0.1 "no leak" was held open for two seconds
    # as the beginning of "no leaks", and ran together with the next line.
    blank_frame: float = 0.35
    unknown_phone: float = 2.5  # each phone of [unk], so that real words win where they fit
    unknown_shortest: int = 3  # phones
    pause_frames: int = 8  # outputs of silence between two sentences, 0.04 s each; 0: no such pause
    pause: float = 2.0  # of one; by silence, sentences run together are the dearer way anyhow


class _Builder:
    def __init__(self, model: Transitions, costs: Costs) -> None:
        self.fst, self.model, self.costs = Fst(), model, costs
        self.phones = kaldi_phones()
        self.start, self.loop, self.word_end = (self.fst.state() for _ in range(3))
        self._silence(self.start, self.loop)
        self.fst.arc(self.start, 0, 0, costs.silence, self.loop)
        self._silence(self.word_end, self.loop)
        self.fst.arc(self.word_end, 0, 0, costs.silence, self.loop)
        self.fst.finals = {self.loop: 0.0, self.word_end: 0.0}
        self.prefixes: dict[tuple[int, int], int] = {}

    def _id(self, phone: int, state: int, target: int) -> int:
        return self.model.ids[phone, state, target]

    def _silence(self, source: int, target: int) -> None:
        inside = self.fst.state()
        self.fst.arc(source, self._id(SILENCE, 0, 1), 0, self.costs.silence, inside)
        self.fst.arc(inside, self._id(SILENCE, 0, 0), 0, 0.0, inside)
        self.fst.arc(inside, 0, 0, 0.0, target)

    def phone(self, source: int, phone: int, word: int, cost: float = 0.0) -> int:
        """Frames of one phone, then perhaps frames of blank; returns the state behind."""
        spoken, blank, through, end = (self.fst.state() for _ in range(4))
        self.fst.arc(source, self._id(phone, 0, 1), word, cost, spoken)
        self.fst.arc(spoken, self._id(phone, 0, 0), 0, 0.0, spoken)
        self.fst.arc(spoken, self._id(phone, 1, 2), 0, 0.0, blank)
        self.fst.arc(blank, self._id(phone, 1, 1), 0, self.costs.blank_frame, blank)
        self.fst.arc(blank, 0, 0, 0.0, end)
        self.fst.arc(source, self._id(phone, 0, 2), word, cost, through)
        self.fst.arc(through, self._id(phone, 0, 0), 0, 0.0, through)
        self.fst.arc(through, 0, 0, 0.0, end)
        return end

    def after_pause(self) -> int:
        """A state behind a word and a silence of some length."""
        state, other = self.word_end, self.fst.state()
        self.fst.arc(state, self._id(SILENCE, 0, 1), 0, self.costs.silence, other)
        for _ in range(self.costs.pause_frames - 1):
            state, other = other, self.fst.state()
            self.fst.arc(state, self._id(SILENCE, 0, 0), 0, 0.0, other)
        self.fst.arc(other, self._id(SILENCE, 0, 0), 0, 0.0, other)
        behind = self.fst.state()
        self.fst.arc(other, 0, 0, 0.0, behind)
        return behind

    def word(self, number: int, phones: list[str], state: int) -> None:
        """Add a pronunciation from a state; words share the states of their common beginnings."""
        for k, name in enumerate(phones):
            last = k == len(phones) - 1
            place = ("S" if last else "B") if k == 0 else ("E" if last else "I")
            phone = self.phones[f"{name}_{place}"]
            if last:
                self.fst.arc(self.phone(state, phone, number), 0, 0, 0.0, self.word_end)
            else:
                key = (state, phone)
                if key not in self.prefixes:
                    self.prefixes[key] = self.phone(state, phone, 0)
                state = self.prefixes[key]

    def unknown(self, number: int, source: int) -> None:
        """Any run of phones, at a cost for each."""
        cost, state = self.costs.unknown_phone, self.fst.state()
        self.fst.arc(source, 0, number, 0.0, state)
        inside = [("B" if k == 0 else "I") for k in range(self.costs.unknown_shortest - 1)]
        for place in inside:
            following = self.fst.state()
            self._any_phone(state, place, cost, following)
            state = following
        self._any_phone(state, "I", cost, state)
        self._any_phone(state, "E", cost, self.word_end)

    def _any_phone(self, source: int, place: str, cost: float, target: int) -> None:
        for name in PHONES:
            end = self.phone(source, self.phones[f"{name}_{place}"], 0, cost)
            self.fst.arc(end, 0, 0, 0.0, target)


def lexicon_graph(
    lexicon: dict[str, list[list[str]]], model: Transitions, costs: Costs,
    beginning: Collection[str] = (),
) -> tuple[Fst, dict[str, int]]:  # fmt: skip
    """Build the transducer; returns it with each word's number ([unk] among them).

    `beginning`: words, and perhaps [unk], that are in it once more after a pause.
    """
    words = [*sorted(lexicon), UNKNOWN]
    again = [word for word in words if word in beginning]
    numbers = {name: k + 1 for k, name in enumerate([*words, *(BEGINS + w for w in again)])}
    builder = _Builder(model, costs)
    _add(builder, lexicon, {word: numbers[word] for word in words}, builder.loop)
    if again:
        behind = builder.after_pause()
        _add(builder, lexicon, {word: numbers[BEGINS + word] for word in again}, behind)
    return builder.fst, numbers


def _add(
    builder: _Builder, lexicon: dict[str, list[list[str]]], numbers: dict[str, int], source: int
) -> None:
    """Words from a state on."""
    for word, number in numbers.items():
        if word == UNKNOWN:
            builder.unknown(number, source)
        else:
            for phones in sorted({tuple(p) for p in lexicon[word]}):
                builder.word(number, list(phones), source)
