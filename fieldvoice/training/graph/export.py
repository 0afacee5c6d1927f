"""Make a Vosk model of weights and grammar: `python -m fieldvoice.training.graph.export`."""

from __future__ import annotations

import argparse
import json
from pathlib import Path

import numpy as np

from fieldvoice.devices.vosk_result import BEGINS
from fieldvoice.language.decoding_graph import Acceptor, compile_acceptor
from fieldvoice.training.graph import graph_digest
from fieldvoice.training.graph.lexicon_graph import UNKNOWN, Costs, lexicon_graph
from fieldvoice.training.graph.olabel_lookahead import write_lookahead
from fieldvoice.training.graph.openfst import Fst, write_vector
from fieldvoice.training.network import kaldi_nnet
from fieldvoice.training.network.shape import SUBSAMPLING, Size
from fieldvoice.training.speech.sentences import lexicon as all_pronunciations

PRIOR_POWER = 0.0  # none for a network trained by MMI; one trained by CTC does best at 0.4
# Of taking a whole line as talk that is not for Fieldvoice, beside a cost for each phone. Measured:
# at 4 one line in fifteen was lost to it, short ones most; at 11, or with 4.5 a phone, talk was
# taken for commands.
UNKNOWN_COST = 8.0
# The dither matters: digital silence, which no microphone gives, would else be heard as phones.
MFCC_CONF = """--sample-frequency=16000
--use-energy=false
--num-mel-bins=40
--num-ceps=40
--low-freq=20
--high-freq=-400
--dither=1.0
"""
# The acoustic scale: below 0.8 one line in a hundred more is misheard; at 1.0 mistakes are sure.
# 0.32 s computed at once cost a fifth less than Vosk's own 0.2 s and hear lines said 0.7 s apart as
# well (134 of 144, 136 with Vosk's); with 0.4 s and more such lines run together. How unlikely the
# end of a line may be against its going on, for it to end after 0.6 and 0.9 s of silence: Vosk's
# own 2 and 8 let lines said 0.7 s apart run together (122 of 144).
MODEL_CONF = f"""--min-active=200
--max-active=4000
--beam=13.0
--lattice-beam=6.0
--acoustic-scale=0.85
--frame-subsampling-factor={SUBSAMPLING}
--frames-per-chunk=32
--phone-determinize=false
--endpoint.silence-phones=1
--endpoint.rule2.min-trailing-silence=0.6
--endpoint.rule2.max-relative-cost=5.0
--endpoint.rule3.min-trailing-silence=0.9
--endpoint.rule3.max-relative-cost=15.0
--endpoint.rule4.min-trailing-silence=1.5
"""


def pronunciations(words: list[str]) -> dict[str, list[list[str]]]:
    """Pronunciations of the grammar's words without stress; KeyError names those that lack one."""
    known = all_pronunciations()
    missing = [w for w in words if w not in known]
    if missing:
        raise KeyError(f"no pronunciation for {missing}: add them to grammar/pronunciations.txt")
    return {w: [[p.rstrip("012") for p in phones] for phones in known[w]] for w in words}


def sentence_graph(
    acceptor: Acceptor, numbers: dict[str, int], unknown_cost: float | None,
    pause_cost: float | None = None,
) -> Fst:  # fmt: skip
    """The grammar's acceptor as an FST, and a single [unk] for all other talk, and silence.

    `unknown_cost` None: without these two. `pause_cost`: of a pause after a sentence and another
    one behind it; None: a single sentence.
    """
    fst = Fst()
    for _ in range(1 + max(max(a[0], a[3]) for a in acceptor.arcs)):
        fst.state()
    swap = {acceptor.start: 0, 0: acceptor.start}  # OpenFst start state 0
    for source, word, cost, target in acceptor.arcs:
        number = numbers[word]
        fst.arc(swap.get(source, source), number, number, cost, swap.get(target, target))
    fst.finals = {swap.get(s, s): cost for s, cost in acceptor.finals.items()}
    if unknown_cost is not None:
        other = fst.state()
        fst.arc(0, numbers[UNKNOWN], numbers[UNKNOWN], unknown_cost, other)
        fst.finals[other] = 0.0
    if pause_cost is not None:
        _pauses(fst, numbers, pause_cost)
    if unknown_cost is not None:
        fst.finals[0] = 0.0  # nothing said: else a pause would have to end in some word
    return fst


def _pauses(fst: Fst, numbers: dict[str, int], cost: float) -> None:
    """From every end of a sentence to the words that can begin one, behind a pause."""
    begins = {numbers[w]: numbers[BEGINS + w] for w in numbers if BEGINS + w in numbers}
    again = fst.state()
    for state, end in fst.finals.items():
        fst.arc(state, 0, 0, end + cost, again)
    for number, _, of_word, target in fst.arcs[0]:
        fst.arc(again, begins[number], begins[number], of_word, target)


def write_graph(folder: Path, acceptor: Acceptor, costs: Costs, unknown_cost: float | None) -> None:
    """Write graph/: lexicon and grammar transducers, words, word boundaries."""
    graph = folder / "graph"
    (graph / "phones").mkdir(parents=True, exist_ok=True)
    model = kaldi_nnet.transitions()
    words = sorted({word for _, word, _, _ in acceptor.arcs})
    pauses = unknown_cost is not None and costs.pause_frames > 0
    beginning = {*acceptor.following[acceptor.start], UNKNOWN} if pauses else ()
    fst, numbers = lexicon_graph(pronunciations(words), model, costs, beginning)
    relabelled = write_lookahead(fst, graph / "HCLr.fst")
    numbers = {word: relabelled[number] for word, number in numbers.items()}
    sentences = sentence_graph(acceptor, numbers, unknown_cost, costs.pause if pauses else None)
    write_vector(sentences, graph / "Gr.fst")
    lines = ["<eps> 0", *(f"{word} {number}" for word, number in numbers.items())]
    (graph / "words.txt").write_text("\n".join(lines) + "\n")
    (graph / "disambig_tid.int").write_text(f"{model.count + 10}\n")
    boundaries = ["1 nonword"]
    for name, number in list(kaldi_nnet.kaldi_phones().items())[1:]:
        boundaries.append(f"{number} {kaldi_nnet.POSITIONS[name[-1]]}")
    (graph / "phones" / "word_boundary.int").write_text("\n".join(boundaries) + "\n")
    (graph / graph_digest.NAME).write_text(graph_digest.digest(acceptor) + "\n")


def write_acoustics(folder: Path, trained: Path, prior_power: float) -> None:
    """Write am/ and conf/ from a file of train.py."""
    import torch  # which the graph alone does not need

    (folder / "am").mkdir(parents=True, exist_ok=True)
    (folder / "conf").mkdir(parents=True, exist_ok=True)
    state = torch.load(trained, weights_only=True)
    hidden, bottleneck, layers, stem, *contexts = state["size"]
    if any(contexts):
        raise ValueError(f"{trained} looks at all of a sound, which Kaldi cannot; pack it as a "
                         "second network: python -m fieldvoice.training.network.second")
    weights = {k: v.double().numpy() for k, v in state["weights"].items() if v.dim() > 0}
    net = kaldi_nnet.build(weights, Size(hidden, bottleneck, layers, tuple(stem)))
    priors = np.asarray(state["priors"], np.float64) ** prior_power
    kaldi_nnet.write_model(folder / "am" / "final.mdl", net, priors / priors.sum())
    (folder / "conf" / "mfcc.conf").write_text(MFCC_CONF)
    (folder / "conf" / "model.conf").write_text(MODEL_CONF)
    about = {"made-by": "fieldvoice.training", "hours": round(state["hours"], 2),
             "steps": state["steps"],
             "held-out-phone-error": state["held_out_phone_error"]}  # fmt: skip
    (folder / "fieldvoice.json").write_text(json.dumps(about, indent=1) + "\n")


def main() -> None:
    """Read the arguments."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument(
        "--trained", type=Path, help="file of train.py; leave out to renew the graph only"
    )
    parser.add_argument(
        "--model", type=Path, default=Path("fieldvoice/model"), help="folder to write"
    )
    parser.add_argument("--prior-power", type=float, default=PRIOR_POWER)
    parser.add_argument("--unknown-cost", type=float, default=UNKNOWN_COST)
    parser.add_argument("--unknown-phone", type=float, default=Costs.unknown_phone)
    a = parser.parse_args()
    if a.trained:
        write_acoustics(a.model, a.trained, a.prior_power)
    write_graph(a.model, compile_acceptor(), Costs(unknown_phone=a.unknown_phone), a.unknown_cost)


if __name__ == "__main__":
    main()
