"""A hundred ways to alter a job that was sealed; each must be detected."""

from __future__ import annotations

import json
import shutil
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

Deed = Callable[[Path], object]
LOG = "log.jsonl"
VALUES: dict[str, Any] = {
    "null": None, "list": [], "object": {}, "text": "x", "number": 1e999, "minus": -1,
    "truth": True, "huge": 10**400, "deep": "DEEP",
}
MEMBERS = ("v", "seq", "turn", "turn_lines", "utc", "kind", "data", "prev", "hash")


def _lines(change: Callable[[list[bytes]], object]) -> Deed:
    def deed(folder: Path) -> None:
        lines = (folder / LOG).read_bytes().splitlines(keepends=True)
        change(lines)
        (folder / LOG).write_bytes(b"".join(lines))
    return deed


def _raw(change: Callable[[bytes], bytes], name: str = LOG) -> Deed:
    return lambda folder: (folder / name).write_bytes(change((folder / name).read_bytes()))


def _member(at: int, member: str, value: Any) -> Deed:
    def change(lines: list[bytes]) -> None:
        found = {**json.loads(lines[at]), member: value}
        told = json.dumps(found).replace('"DEEP"', "[" * 200_000 + "]" * 200_000)
        lines[at] = told.replace("Infinity", "1e999").encode() + b"\n"
    return _lines(change)


def _members() -> Iterator[tuple[str, Deed]]:
    for member in MEMBERS:
        for name, value in VALUES.items():
            if not (member == "v" and name == "truth"):
                yield f"{member} of a line is {name}", _member(2, member, value)


def _swap(lines: list[bytes], one: int, other: int) -> None:
    lines[one], lines[other] = lines[other], lines[one]


def _clips(folder: Path) -> list[Path]:
    return sorted((folder / "clips").iterdir())


def _swap_clips(folder: Path) -> None:
    one, other = _clips(folder)[:2]
    sounds = one.read_bytes(), other.read_bytes()
    other.write_bytes(sounds[0])
    one.write_bytes(sounds[1])


def _linked(name: str) -> Deed:
    def deed(folder: Path) -> None:
        path = folder / name if name != "clip" else _clips(folder)[0]
        away = folder.parent / "elsewhere"
        shutil.rmtree(away) if away.is_dir() else away.unlink(missing_ok=True)
        path.rename(away)
        path.symlink_to(away)
    return deed


def _emptied(folder: Path) -> None:
    for path in folder.iterdir():
        shutil.rmtree(path) if path.is_dir() else path.unlink()


def _last_turn(lines: list[bytes]) -> None:
    del lines[json.loads(lines[-1])["turn"] - 1 :]


DEEDS: list[tuple[str, Deed]] = [
    *_members(),
    ("first line gone", _lines(lambda v: v.pop(0))),
    ("a line in the middle gone", _lines(lambda v: v.pop(len(v) // 2))),
    ("last line gone", _lines(lambda v: v.pop())),
    ("last turn gone", _lines(_last_turn)),
    ("half of the lines gone", _lines(lambda v: v.__delitem__(slice(len(v) // 2, None)))),
    ("two lines swapped", _lines(lambda v: _swap(v, 3, 4))),
    ("first and last swapped", _lines(lambda v: _swap(v, 0, -1))),
    ("a line twice", _lines(lambda v: v.insert(4, v[4]))),
    ("last line twice", _lines(lambda v: v.append(v[-1]))),
    ("all lines twice", _lines(lambda v: v.extend(v))),
    ("an empty line", _lines(lambda v: v.insert(4, b"\n"))),
    ("a line of zeros", _lines(lambda v: v.insert(4, b"\0" * 512 + b"\n"))),
    ("zeros at the end", _raw(lambda raw: raw + b"\0" * 512)),
    ("rubbish at the end", _raw(lambda raw: raw + b"\xff\xfe{\n")),
    ("an object at the end", _raw(lambda raw: raw + b"{}\n")),
    ("brackets", _lines(lambda v: v.insert(4, b"[" * 200_000 + b"\n"))),
    ("lines end as in other systems", _raw(lambda raw: raw.replace(b"\n", b"\r\n"))),
    ("a mark before the text", _raw(lambda raw: b"\xef\xbb\xbf" + raw)),
    ("a space more", _raw(lambda raw: raw.replace(b'"seq": ', b'"seq":  ', 1))),
    ("another coding", _raw(lambda raw: raw.decode().encode("utf-16"))),
    ("log emptied", _raw(lambda raw: b"")),
    ("log removed", lambda f: (f / LOG).unlink()),
    ("log is a folder", lambda f: ((f / LOG).unlink(), (f / LOG).mkdir())),
    ("log is a link", _linked(LOG)),
    ("log and seal removed", lambda f: ((f / LOG).unlink(), (f / "seal.json").unlink())),
    ("folder emptied", _emptied),
    ("folder removed", shutil.rmtree),
    ("clip altered", lambda f: _clips(f)[0].write_bytes(b"RIFF")),
    ("clip longer", lambda f: _clips(f)[0].write_bytes(_clips(f)[0].read_bytes() + b"\0")),
    ("clip emptied", lambda f: _clips(f)[0].write_bytes(b"")),
    ("clip deleted", lambda f: _clips(f)[-1].unlink()),
    ("clips swapped", _swap_clips),
    ("clip is a link", _linked("clip")),
    ("all clips deleted", lambda f: shutil.rmtree(f / "clips")),
    ("clip added", lambda f: (f / "clips" / "000099.wav").write_bytes(b"RIFF")),
    ("procedure altered", _raw(lambda raw: raw.replace(b"500", b"900"), "procedure.txt")),
    ("procedure emptied", lambda f: (f / "procedure.txt").write_bytes(b"")),
    ("procedure removed", lambda f: (f / "procedure.txt").unlink()),
    ("procedure is a link", _linked("procedure.txt")),
    ("procedure is not text", lambda f: (f / "procedure.txt").write_bytes(b"\xff\0")),
    ("seal altered", _raw(lambda raw: raw.replace(b"1", b"2"), "seal.json")),
    ("seal emptied", lambda f: (f / "seal.json").write_bytes(b"")),
    ("seal is rubbish", lambda f: (f / "seal.json").write_bytes(b"[" * 100_000)),
    ("seal removed", lambda f: (f / "seal.json").unlink()),
]
