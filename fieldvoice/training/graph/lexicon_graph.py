"""The lexicon as a transducer from transition ids to words (HCL); [unk] is a loop of phones."""

from __future__ import annotations

from dataclasses import dataclass

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

    def word(self, number: int, phones: list[str]) -> None:
        """Add a pronunciation; words share the states of their common beginnings."""
        state = self.loop
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

    def unknown(self, number: int) -> None:
        """Any run of phones, at a cost for each."""
        cost, state = self.costs.unknown_phone, self.fst.state()
        self.fst.arc(self.loop, 0, number, 0.0, state)
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
    lexicon: dict[str, list[list[str]]], model: Transitions, costs: Costs
) -> tuple[Fst, dict[str, int]]:
    """Build the transducer; returns it with each word's number ([unk] among them)."""
    numbers = {word: k + 1 for k, word in enumerate([*sorted(lexicon), UNKNOWN])}
    builder = _Builder(model, costs)
    for word in sorted(lexicon):
        for phones in sorted({tuple(p) for p in lexicon[word]}):
            builder.word(numbers[word], list(phones))
    builder.unknown(numbers[UNKNOWN])
    return builder.fst, numbers
