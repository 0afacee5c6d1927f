"""DEVELOPERS.md names files, commands and parts that exist."""

import json
import re
from importlib.util import find_spec
from pathlib import Path

import pytest

from fieldvoice.jobstate.events import Event
from support.import_map import ALLOWED

ROOT = Path(__file__).resolve().parent.parent
TEXT = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
PLACES = ("", "fieldvoice", "fieldvoice/model")
MADE_LATER = {"model.onnx", "vocab.json", "procedure.txt", "log.jsonl"}  # of a job, or of a voice


def named_files():
    words = re.findall(r"`([\w./-]+(?:\.\w+|/))`", TEXT)
    return sorted({w for w in words if "/" in w or w.endswith(".py")} - MADE_LATER)


@pytest.mark.parametrize("name", named_files())
def test_a_file_or_folder_named_exists(name):
    assert any((ROOT / place / name).exists() for place in PLACES), name


@pytest.mark.parametrize("module", sorted(set(re.findall(r"-m\s+(fieldvoice[\w.]+)", TEXT))))
def test_a_module_to_run_exists(module):
    assert find_spec(module) is not None


def test_every_part_of_the_import_map_is_told():
    for part in ALLOWED:
        assert part == "__init__" or f"`{part}" in TEXT, part


def test_the_line_of_a_log_shown_is_an_event():
    (line,) = re.findall(r"```json\n(.*?)\n```", TEXT, re.DOTALL)
    shown = json.loads(line)
    event = Event.from_dict(shown["kind"], {"step": "pull", **shown["data"]})
    assert event.kind == "reading-taken"
