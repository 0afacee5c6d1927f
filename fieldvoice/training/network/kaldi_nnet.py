"""Write the network as Kaldi's final.mdl (binary): topology, transitions, nnet3 network, priors."""

from __future__ import annotations

import math
import struct
from dataclasses import dataclass, field
from pathlib import Path
from typing import BinaryIO

import numpy as np
from numpy.typing import NDArray

from fieldvoice.training.network.shape import BLANK, KEEP, PHONES, SUBSAMPLING, Size

Matrix = NDArray[np.float64]
POSITIONS = {"B": "begin", "I": "internal", "E": "end", "S": "singleton"}
SILENCE = 1  # Kaldi phone id
SILENCE_LOOP = [(0, 0.5), (1, 0.5)]
PHONE_ENTRY = [(0, 0.4), (1, 0.3), (2, 0.3)]  # stay, go to the blank state, leave
PHONE_BLANK = [(1, 0.5), (2, 0.5)]


def kaldi_phones() -> dict[str, int]:
    """Kaldi's phone ids: SIL, then each phone in its four word positions."""
    names = [f"{p}_{position}" for p in PHONES for position in POSITIONS]
    return {"SIL": SILENCE, **{name: k + 2 for k, name in enumerate(names)}}


def output_of(phone: int) -> int:
    """Network output that scores a Kaldi phone: blank for silence, one for all four positions."""
    return BLANK if phone == SILENCE else (phone - 2) // len(POSITIONS) + 1


@dataclass(frozen=True)
class Transitions:
    """Transition ids as Kaldi numbers them: by (phone, state, next state)."""

    triples: list[tuple[int, int, int]]
    ids: dict[tuple[int, int, int], int]
    log_probs: list[float]

    @property
    def count(self) -> int:
        """How many transition ids there are."""
        return len(self.log_probs)


def transitions() -> Transitions:
    """CTC as an HMM: state 0 is the phone, optional state 1 is blank, both loop."""
    triples = [(SILENCE, 0, BLANK)]
    for phone in list(kaldi_phones().values())[1:]:
        triples += [(phone, 0, output_of(phone)), (phone, 1, BLANK)]
    ids: dict[tuple[int, int, int], int] = {}
    log_probs: list[float] = []
    for phone, state, _ in triples:
        arcs = SILENCE_LOOP if phone == SILENCE else (PHONE_ENTRY, PHONE_BLANK)[state]
        for target, probability in arcs:
            log_probs.append(math.log(probability))
            ids[phone, state, target] = len(log_probs)
    return Transitions(triples, ids, log_probs)


class _Writer:
    """Kaldi's binary tokens, numbers, vectors and matrices."""

    def __init__(self, file: BinaryIO) -> None:
        self.file = file

    def token(self, text: str) -> None:
        self.file.write(text.encode() + b" ")

    def integer(self, value: int) -> None:
        self.file.write(b"\x04" + struct.pack("<i", value))

    def real(self, value: float) -> None:
        self.file.write(b"\x04" + struct.pack("<f", value))

    def double(self, value: float) -> None:
        self.file.write(b"\x08" + struct.pack("<d", value))

    def integers(self, values: list[int]) -> None:
        self.integer(len(values))
        self.file.write(np.asarray(values, "<i4").tobytes())

    def vector(self, values: Matrix | list[float]) -> None:
        data = np.asarray(values, "<f4")
        self.token("FV")
        self.integer(len(data))
        self.file.write(data.tobytes())

    def matrix(self, values: Matrix) -> None:
        """Write 16 bits a number, evenly spaced (Kaldi's compressed matrix CM2): half the file."""
        low, span = float(values.min()), float(np.ptp(values)) or 1.0
        steps = np.round((values - low) * (65535 / span)).astype("<u2")
        self.token("CM2")
        self.file.write(struct.pack("<ffii", low, span, *values.shape) + steps.tobytes())


@dataclass
class Nnet:
    """nnet3 configuration lines and components, in order."""

    lines: list[str] = field(default_factory=list)
    components: list[tuple[str, str, tuple[Matrix, ...], int]] = field(default_factory=list)
    reach: int = 0  # frames of context each side

    def node(self, name: str, kind: str, source: str, values: tuple[Matrix, ...], dim: int) -> str:
        """Add a component with its node; returns the node's name."""
        self.lines.append(f"component-node name={name} component={name} input={source}")
        self.components.append((name, kind, values, dim))
        return name


def _spliced(source: str, offsets: list[int]) -> str:
    parts = [source if o == 0 else f"Offset({source}, {o})" for o in offsets]
    return f"Append({', '.join(parts)})"


def build(weights: dict[str, Matrix], size: Size) -> Nnet:
    """Fold every batch normalization away and lay the layers out as nnet3 nodes.

    A normalization without learned scale is y = s z - s m with s > 0. The scale commutes with relu,
    so it moves into the affine before it; the shift is carried along as a constant of the residual
    stream and ends up in the biases of the layers that read it.
    """

    def norm(prefix: str) -> tuple[Matrix, Matrix]:
        scale = 1 / np.sqrt(weights[prefix + ".running_var"] + 1e-5)
        return scale, -weights[prefix + ".running_mean"] * scale

    net = Nnet(["input-node name=input dim=40"])
    scale, shift = norm("input_norm")
    weight = weights["first.weight"]
    bias = weights["first.bias"] + weight @ np.tile(shift, 5)
    weight = weight * np.tile(scale, 5)
    scale, constant = norm("first_norm")
    affine = (weight * scale[:, None], bias * scale)
    source = net.node(
        "first.affine", "FixedAffineComponent", _spliced("input", [-2, -1, 0, 1, 2]), affine, 0
    )
    source = net.node("first.relu", "RectifiedLinearComponent", source, (), size.hidden)
    net.reach = 2
    layers = [(f"stem.{k}", 1) for k in range(len(size.stem))]
    layers += [(f"body.{k}", SUBSAMPLING) for k in range(size.layers)]
    for name, reach in layers:
        down, up = weights[name + ".down.weight"], weights[name + ".up.weight"]
        down_bias = down @ np.tile(constant, 2)
        scale, shift = norm(name + ".norm")
        net.node(f"{name}.down", "FixedAffineComponent", _spliced(source, [-reach, 0]),
                 (down, down_bias), 0)  # fmt: skip
        net.node(f"{name}.up", "FixedAffineComponent", _spliced(f"{name}.down", [0, reach]),
                 (up * scale[:, None], weights[name + ".up.bias"] * scale), 0)  # fmt: skip
        net.node(f"{name}.relu", "RectifiedLinearComponent", f"{name}.up", (), size.hidden)
        source = net.node(f"{name}.sum", "NoOpComponent",
                          f"Sum(Scale({KEEP}, {source}), {name}.relu)", (),
                          size.hidden)  # fmt: skip
        constant = KEEP * constant + shift
        net.reach += reach
    out = weights["output.weight"]
    source = net.node("output.affine", "FixedAffineComponent", source,
                      (out, weights["output.bias"] + out @ constant), 0)  # fmt: skip
    source = net.node("output.log", "LogSoftmaxComponent", source, (), len(out))
    net.lines.append(f"output-node name=output input={source} objective=linear")
    return net


def _write_transition_model(w: _Writer, model: Transitions) -> None:
    phones = list(kaldi_phones().values())
    w.token("<TransitionModel>")
    w.token("<Topology>")
    w.integers(phones)
    w.integers([-1, 0] + [1] * (len(phones) - 1))  # phone id to topology entry
    w.integer(2)
    for states in ([SILENCE_LOOP], [PHONE_ENTRY, PHONE_BLANK]):
        w.integer(len(states) + 1)
        for pdf_class, arcs in enumerate(states):
            w.integer(pdf_class)
            w.integer(len(arcs))
            for target, probability in arcs:
                w.integer(target)
                w.real(probability)
        w.integer(-1)  # final state: no sound, no arcs
        w.integer(0)
    w.token("</Topology>")
    w.token("<Triples>")
    w.integer(len(model.triples))
    for triple in model.triples:
        for value in triple:
            w.integer(value)
    w.token("</Triples>")
    w.token("<LogProbs>")
    w.vector([0.0, *model.log_probs])
    w.token("</LogProbs>")
    w.token("</TransitionModel>")


def _write_component(w: _Writer, kind: str, values: tuple[Matrix, ...], dim: int) -> None:
    w.token(f"<{kind}>")
    if kind == "FixedAffineComponent":
        w.token("<LinearParams>")
        w.matrix(values[0])
        w.token("<BiasParams>")
        w.vector(values[1])
    elif kind == "NoOpComponent":
        w.token("<Dim>")
        w.integer(dim)
        w.token("<BackpropScale>")
        w.real(1.0)
    else:
        w.token("<Dim>")
        w.integer(dim)
        for statistic in ("<ValueAvg>", "<DerivAvg>"):
            w.token(statistic)
            w.vector([])
        w.token("<Count>")
        w.double(0.0)
    w.token(f"</{kind}>")


def write_model(path: Path, net: Nnet, priors: Matrix) -> None:
    """Write final.mdl; `priors` are subtracted (as logs) from the outputs by the decoder."""
    with path.open("wb") as file:
        file.write(b"\0B")
        w = _Writer(file)
        _write_transition_model(w, transitions())
        w.token("<Nnet3>")
        file.write(b"\n" + "\n".join(net.lines).encode() + b"\n\n")
        w.token("<NumComponents>")
        w.integer(len(net.components))
        for name, kind, values, dim in net.components:
            w.token("<ComponentName>")
            w.token(name)
            _write_component(w, kind, values, dim)
        w.token("</Nnet3>")
        for side in ("<LeftContext>", "<RightContext>"):
            w.token(side)
            w.integer(net.reach)
        w.token("<Priors>")
        w.vector(priors)
