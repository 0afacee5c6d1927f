"""Run an 8-bit ONNX speech synthesizer in torch, so that a GPU can speak training text.

Written out as plain lists and tensors by `python -m fieldvoice.training.speech.onnx_in_torch IN
OUT`, a model needs nothing but torch where it runs. What the 8-bit model quantizes on the fly stays
float here: DynamicQuantizeLinear hands its input on with scale 1 and zero point 0. Only the
operators that the Kokoro model uses are there; another one is refused by name when the model is
loaded. Small whole numbers (shapes, indices) live on the CPU, everything else on the device.
"""

from __future__ import annotations

import argparse
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import torch
from torch import Tensor
from torch.nn import functional as F

HOST_SIZE = 64  # integers up to so many stay on the CPU
DTYPES = {1: torch.float32, 6: torch.int32, 7: torch.int64, 9: torch.bool, 2: torch.uint8,
          3: torch.int8, 11: torch.float64}  # fmt: skip
Values = Sequence[Any]  # tensors, None for an input left out
Operator = Callable[..., Any]


@dataclass(frozen=True)
class Node:
    """One operation: names of inputs ("" for one left out) and outputs, attributes as Python."""

    operator: str
    inputs: list[str]
    outputs: list[str]
    attributes: dict[str, Any]


def meet(a: Tensor, b: Tensor) -> tuple[Any, Any]:
    """Bring two operands to one device; a lone number needs no copy."""
    if a.device == b.device:
        return a, b
    if a.device.type == "cpu":
        y, x = meet(b, a)
        return x, y
    return a, (b.reshape(()) if b.numel() == 1 and b.dim() <= a.dim() else b.to(a.device))


def binary(function: Callable[[Any, Any], Tensor]) -> Operator:
    """Make an operator of a torch function of two tensors."""
    return lambda attributes: lambda a, b: function(*meet(a, b))


def unary(function: Callable[[Tensor], Tensor]) -> Operator:
    """Make an operator of a torch function of one tensor."""
    return lambda attributes: function


def divide(a: Tensor, b: Tensor) -> Tensor:
    """Divide; whole numbers to whole numbers."""
    return a / b if a.is_floating_point() else torch.div(a, b, rounding_mode="trunc")


def gather(attributes: dict[str, Any]) -> Operator:
    """Pick along one axis."""
    axis = attributes.get("axis", 0)

    def run(data: Tensor, index: Tensor) -> Tensor:
        if index.dim() == 0 and index.device.type == "cpu":
            return data.select(axis, int(index))
        flat = data.index_select(axis, index.reshape(-1).to(data.device))
        return flat.reshape(data.shape[:axis] + index.shape + data.shape[axis + 1 :])

    return run


def slice_(data: Tensor, starts: Tensor, ends: Tensor, axes: Tensor | None = None,
           steps: Tensor | None = None) -> Tensor:  # fmt: skip
    """Cut along axes; steps forwards only."""
    which = axes.tolist() if axes is not None else range(len(starts))
    strides = steps.tolist() if steps is not None else [1] * len(starts)
    index = [slice(None)] * data.dim()
    for axis, start, end, step in zip(which, starts.tolist(), ends.tolist(), strides, strict=True):
        if step < 0:
            return torch.flip(data, [axis])[tuple(index)]
        index[axis] = slice(start, min(end, 1 << 40), step)
    return data[tuple(index)]


def reshape(data: Tensor, shape: Tensor) -> Tensor:
    """Give another shape; 0 keeps the length of that axis."""
    return data.reshape([data.shape[k] if n == 0 else n for k, n in enumerate(shape.tolist())])


def unsqueeze(data: Tensor, axes: Tensor) -> Tensor:
    """Insert axes of length one."""
    for axis in sorted(axes.reshape(-1).tolist()):
        data = data.unsqueeze(axis)
    return data


def squeeze(data: Tensor, axes: Tensor) -> Tensor:
    """Drop axes of length one."""
    return data.squeeze(tuple(axes.tolist()))


def reduce(function: Callable[..., Tensor]) -> Operator:
    """Sum or mean over given axes."""
    return lambda attributes: lambda data, axes: function(
        data, axes.tolist(), keepdim=bool(attributes.get("keepdims", 1))
    )


def convolution(attributes: dict[str, Any]) -> Operator:
    """One-dimensional convolution; the 8-bit form brings zero points, already taken off."""
    stride, dilation = attributes["strides"][0], attributes["dilations"][0]
    left, right = attributes["pads"]
    assert left == right

    def run(x: Tensor, weight: Tensor, *rest: Tensor | None) -> Tensor:
        bias = rest[0] if len(rest) == 1 else None
        return F.conv1d(x, weight, bias, stride, left, dilation, attributes["group"])

    return run


def transposed_convolution(attributes: dict[str, Any]) -> Operator:
    """One-dimensional transposed convolution."""
    stride, padding = attributes["strides"][0], attributes["pads"][0]
    extra = attributes.get("output_padding", [0])[0]

    def run(x: Tensor, weight: Tensor, bias: Tensor | None = None) -> Tensor:
        return F.conv_transpose1d(x, weight, bias, stride, padding, extra, attributes["group"])

    return run


def layer_norm(attributes: dict[str, Any]) -> Operator:
    """Normalize over the last axis."""
    epsilon = attributes["epsilon"]
    return lambda x, scale, shift: F.layer_norm(x, x.shape[-1:], scale, shift, epsilon)


def skip_layer_norm(attributes: dict[str, Any]) -> Operator:
    """Add, then normalize over the last axis."""
    e = attributes["epsilon"]
    return lambda x, skip, scale, shift: F.layer_norm(x + skip, x.shape[-1:], scale, shift, e)


def resize(attributes: dict[str, Any]) -> Operator:
    """Stretch or shrink the last axis by the last of three factors."""
    mode = attributes["mode"]

    def run(x: Tensor, _: None, factors: Tensor) -> Tensor:
        factor = float(factors[-1])
        size = int(x.shape[-1] * factor)
        if mode == "nearest":
            place = (torch.arange(size, device=x.device) / factor).floor().long()
            return x[..., place]
        return F.interpolate(x, scale_factor=factor, mode="linear", align_corners=False)

    return run


def pad(attributes: dict[str, Any]) -> Operator:
    """Reflect at the ends of the last axis."""

    def run(x: Tensor, pads: Tensor) -> Tensor:
        n = pads.tolist()
        return F.pad(x, (n[x.dim() - 1], n[-1]), mode="reflect")

    return run


def stft(x: Tensor, hop: Tensor, window: Tensor, length: Tensor) -> Tensor:
    """Short-time Fourier transform [batch, frames, bins, 2]."""
    frames = x.reshape(x.shape[0], -1).unfold(-1, int(length), int(hop)) * window
    return torch.view_as_real(torch.fft.rfft(frames))


def scatter(data: Tensor, index: Tensor, updates: Tensor) -> Tensor:
    """Put updates at places given by rows of indices."""
    places = tuple(index.to(data.device).unbind(-1))
    return data.index_put(places, updates.reshape(places[0].shape))


def lstm(attributes: dict[str, Any]) -> Operator:
    """Two-way LSTM whose weights came in as (input, hidden, bias), prepared by `lstm_weights`."""
    hidden = attributes["hidden_size"]

    def run(x: Tensor, *rest: Any) -> tuple[Tensor, Tensor, Tensor]:
        weights = rest[0]
        start = x.new_zeros(2, x.shape[1], hidden)
        y, h, c = torch.lstm(x, (start, start), weights, True, 1, 0.0, False, True, False)
        return y.view(len(x), x.shape[1], 2, hidden).transpose(1, 2), h, c

    return run


def lstm_weights(w: Tensor, r: Tensor, b: Tensor, scales: Values) -> list[Tensor]:
    """8-bit [2, in, 4 H] in ONNX's gate order i o f c to torch's i f c o."""
    w_scale, w_zero, r_scale, r_zero = scales

    def gates(matrix: Tensor) -> Tensor:
        i, o, f, c = matrix.chunk(4)
        return torch.cat([i, f, c, o]).contiguous()

    flat = []
    for k in range(2):
        for m, scale, zero in ((w, w_scale, w_zero), (r, r_scale, r_zero)):
            flat.append(gates(((m[k].float() - zero[k].float()) * scale[k]).T))
        flat += [gates(part) for part in b[k].chunk(2)]
    return flat


def constant_of_shape(attributes: dict[str, Any]) -> Operator:
    """Fill a shape with one value."""
    value = attributes["value"]
    return lambda shape: torch.full(shape.tolist(), value.item(), dtype=value.dtype)


def shape_of(x: Tensor) -> Tensor:
    """Shape as numbers on the CPU."""
    return torch.tensor(x.shape)


def matmul(attributes: dict[str, Any]) -> Operator:
    """Matrix product, of the first operand's transpose if so told."""
    turn = attributes.get("transA", 0)

    def run(a: Tensor, b: Tensor, *zero_points: Tensor) -> Tensor:
        return torch.matmul(a.transpose(-1, -2) if turn else a, b.to(a.device))

    return run


def concatenate(attributes: dict[str, Any]) -> Operator:
    """Join along an axis."""

    def run(*parts: Tensor) -> Tensor:
        home = next((p.device for p in parts if p.device.type != "cpu"), parts[0].device)
        return torch.cat([p.to(home) for p in parts], attributes["axis"])

    return run


def where(condition: Tensor, a: Tensor, b: Tensor) -> Tensor:
    """Choose elementwise."""
    home = next((t.device for t in (condition, a, b) if t.device.type != "cpu"), a.device)
    return torch.where(condition.to(home), a.to(home), b.to(home))


OPERATORS: dict[str, Operator] = {
    "Add": binary(torch.add), "Sub": binary(torch.sub), "Mul": binary(torch.mul),
    "Div": binary(divide), "Pow": binary(torch.pow), "Equal": binary(torch.eq),
    "Greater": binary(torch.gt), "GreaterOrEqual": binary(torch.ge), "Less": binary(torch.lt),
    "And": binary(torch.logical_and), "Sqrt": unary(torch.sqrt), "Sin": unary(torch.sin),
    "Cos": unary(torch.cos), "Exp": unary(torch.exp),
    "Atan": unary(lambda x: torch.atan(x.nan_to_num())),  # of 0 / 0: 0, as atan2 has it
    "Floor": unary(torch.floor), "Round": unary(torch.round), "Tanh": unary(torch.tanh),
    "Sigmoid": unary(torch.sigmoid), "Shape": unary(shape_of),
    "FastGelu": binary(lambda x, bias: F.gelu(x + bias, approximate="tanh")),
    "Cast": lambda a: lambda x: x.to(DTYPES[a["to"]]),
    "Clip": lambda a: lambda x, low, high=None: torch.clamp(x, low.item(), high),
    "Concat": concatenate, "ConstantOfShape": constant_of_shape,
    "Conv": convolution, "ConvInteger": convolution, "ConvTranspose": transposed_convolution,
    "CumSum": lambda a: lambda x, axis: torch.cumsum(x, int(axis)),
    "DequantizeLinear": lambda a: lambda x, scale, zero: (x.float() - zero.float()) * scale,
    "DynamicQuantizeLSTM": lstm,
    "DynamicQuantizeLinear": lambda a: lambda x: (x, torch.tensor(1.0), torch.tensor(0)),
    "Expand": lambda a: lambda x, shape: x * torch.ones(shape.tolist(), dtype=x.dtype,
                                                        device=x.device),
    "FusedMatMul": matmul, "MatMul": matmul, "MatMulInteger": matmul, "Gather": gather,
    "LayerNormalization": layer_norm, "SkipLayerNormalization": skip_layer_norm,
    "LeakyRelu": lambda a: lambda x: F.leaky_relu(x, a["alpha"]),
    "NonZero": unary(lambda x: x.nonzero().T), "Pad": pad,
    "Range": lambda a: lambda start, end, step: torch.arange(int(start), int(end), int(step)),
    "ReduceMean": reduce(torch.mean), "ReduceSum": reduce(torch.sum),
    "Reshape": lambda a: reshape, "Resize": resize, "STFT": lambda a: stft,
    "ScatterND": lambda a: scatter, "Slice": lambda a: slice_,
    "Softmax": lambda a: lambda x: torch.softmax(x, a["axis"]),
    "Split": lambda a: lambda x, sizes: torch.split(x, sizes.tolist(), a["axis"]),
    "Squeeze": lambda a: squeeze, "Transpose": lambda a: lambda x: x.permute(a["perm"]),
    "Unsqueeze": lambda a: unsqueeze, "Where": lambda a: where,
}  # fmt: skip


class Model:
    """A model that was written out by this module, on one device."""

    def __init__(self, path: Path, device: str) -> None:
        """Load; ValueError for an operator that is not in the table above."""
        held = torch.load(path, weights_only=True)
        nodes = [Node(*n) for n in held["nodes"]]
        unknown = sorted({n.operator for n in nodes} - set(OPERATORS))
        if unknown:
            raise ValueError(f"{path}: cannot run {', '.join(unknown)}")
        self.device, self.output = torch.device(device), held["output"]
        self.fixed: dict[str, Any] = {k: self._home(v) for k, v in held["tensors"].items()}
        self.fixed[""] = None
        live = [n for n in (self._prepared(n) for n in nodes) if not self._folded(n)]
        self.plan = [(OPERATORS[n.operator](n.attributes), n) for n in live]
        last = {name: k for k, (_, n) in enumerate(self.plan) for name in n.inputs}
        self.done: list[list[str]] = [[] for _ in self.plan]
        for name, k in last.items():
            if name not in self.fixed and name != self.output:
                self.done[k].append(name)

    def _home(self, x: Tensor) -> Tensor:
        small = x.numel() <= HOST_SIZE and not x.is_floating_point()
        return x if small or x.dim() == 0 else x.to(self.device)

    def _prepared(self, node: Node) -> Node:
        """Turn 8-bit weights to float once; the name of the result stands in for them."""
        if node.operator in ("MatMulInteger", "ConvInteger"):
            weight, zero = node.inputs[1], self.fixed[node.inputs[3]]
            name = weight + " as float"
            if name not in self.fixed:
                if zero.dim() == 1 and node.operator == "ConvInteger":
                    zero = zero.reshape(-1, 1, 1)
                weights = self.fixed[weight].float().to(self.device)
                self.fixed[name] = weights - zero.float().to(self.device)
            return replace(node, inputs=[node.inputs[0], name, *node.inputs[2:]])
        if node.operator == "DynamicQuantizeLSTM":
            w, r, b, *_ = (self.fixed[n] for n in node.inputs[1:4])
            scales = [self.fixed[n] for n in node.inputs[8:12]]
            name = node.inputs[1] + " as float"
            self.fixed[name] = lstm_weights(w, r, b, scales)
            return replace(node, inputs=[node.inputs[0], name])
        return node

    def _folded(self, node: Node) -> bool:
        """Compute a node of constants now."""
        if not all(name in self.fixed for name in node.inputs):
            return False
        self._keep(self.fixed, node, self._run(OPERATORS[node.operator](node.attributes), node,
                                               self.fixed))  # fmt: skip
        return True

    @staticmethod
    def _run(operator: Operator, node: Node, values: dict[str, Any]) -> Any:
        return operator(*[values[name] for name in node.inputs])

    @staticmethod
    def _keep(values: dict[str, Any], node: Node, result: Any) -> None:
        results = result if isinstance(result, tuple) else (result,)
        values.update(zip(node.outputs, results, strict=False))

    @torch.inference_mode()
    def __call__(self, tokens: Tensor, style: Tensor, speed: Tensor) -> Tensor:
        """Speak tokens [1, n] in a style [1, 256] at a speed [1]; returns sound [samples]."""
        values = dict(self.fixed)
        values |= {"tokens": tokens.to(self.device), "style": style.to(self.device),
                   "speed": speed.to(self.device)}  # fmt: skip
        for (operator, node), done in zip(self.plan, self.done, strict=True):
            self._keep(values, node, self._run(operator, node, values))
            for name in done:
                values.pop(name, None)
        sound: Tensor = values[self.output].reshape(-1)
        return sound


def write_out(source: Path, target: Path) -> None:
    """Write an ONNX file as lists and tensors (needs the package onnx)."""
    import onnx
    from onnx import helper, numpy_helper

    def plain(attribute: Any) -> Any:
        value = helper.get_attribute_value(attribute)
        if isinstance(value, onnx.TensorProto):
            return torch.from_numpy(numpy_helper.to_array(value).copy())
        return value.decode() if isinstance(value, bytes) else value

    graph = onnx.load(source).graph
    nodes = [
        (n.op_type, list(n.input), list(n.output),
         {a.name: list(v) if isinstance(v := plain(a), list | tuple) else v for a in n.attribute})
        for n in graph.node
    ]  # fmt: skip
    tensors = {i.name: torch.from_numpy(numpy_helper.to_array(i).copy()) for i in graph.initializer}
    torch.save({"nodes": nodes, "tensors": tensors, "output": graph.output[0].name}, target)


def main() -> None:
    """Read the arguments."""
    parser = argparse.ArgumentParser(description=(__doc__ or "").split("\n")[0])
    parser.add_argument("source", type=Path, metavar="IN", help="the .onnx file")
    parser.add_argument("target", type=Path, metavar="OUT", help="the .pt file to write")
    a = parser.parse_args()
    write_out(a.source, a.target)


if __name__ == "__main__":
    main()
