"""A job's log as an older Fieldvoice wrote it: lines of version 1, and no seal anywhere."""

import hashlib
import json
from pathlib import Path

import msgspec

from fieldvoice.devices.joblog import read_log, register_path
from fieldvoice.devices.joblog.lines import FIRST_PREV


def version_1(folder: Path) -> bytes:
    """What the log would have been."""
    monos = [json.loads(raw)["mono"] for raw in (folder / "log.jsonl").read_bytes().splitlines()]
    lines, prev = [], FIRST_PREV
    for entry, mono in zip(read_log(folder).entries, monos, strict=True):
        told = {"v": 1, "seq": entry.seq, "utc": entry.at.isoformat(), "mono": mono,
                "kind": entry.event.kind,
                **({} if entry.unit is None else {"unit": entry.unit}),
                "data": msgspec.to_builtins(entry.event), "prev": prev}
        lines.append(json.dumps(told, ensure_ascii=False).encode())
        prev = hashlib.sha256(lines[-1]).hexdigest()
    return b"".join(line + b"\n" for line in lines)


def make_old(folder: Path) -> None:
    """Put that into its place."""
    (folder / "log.jsonl").write_bytes(version_1(folder))
    (folder / "seal.json").unlink()
    register_path().unlink()
