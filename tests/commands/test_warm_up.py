"""The grammar is compiled once for all starts, and a cache that was spoilt costs only time."""

import os
import subprocess
import sys
from pathlib import Path

import pytest

from fieldvoice.language.grammar import Grammar, fingerprint, grammar

_START = """
import threading
from fieldvoice.commands.wiring.keeping.warm_up import warm_up
from fieldvoice.language import grammar
from fieldvoice.language.parser import understand
warm_up()
asked = [threading.Thread(target=grammar.grammar) for _ in range(2)]
for thread in asked:
    thread.start()
for thread in threading.enumerate():
    if thread is not threading.main_thread():
        thread.join()
heard = understand("four hundred microns", typed=True)
print("compiled", grammar._shipped.cache_info().misses, heard)
"""


def start(cache: Path) -> str:
    return subprocess.run(
        [sys.executable, "-c", _START], capture_output=True, text=True, timeout=300, check=True,
        env={**os.environ, "XDG_CACHE_HOME": str(cache)}, cwd=cache.parent,
    ).stdout  # fmt: skip


def test_a_second_start_takes_the_grammar_of_the_first(tmp_path: Path) -> None:
    first = start(tmp_path)
    assert first.startswith("compiled 1 ")
    assert start(tmp_path) == first.replace("compiled 1", "compiled 0")
    (kept,) = (tmp_path / "fieldvoice").iterdir()
    assert fingerprint() in kept.name


@pytest.mark.parametrize("rubbish", ["", "{", "[]", '{"terminal_of": 3}', "\0" * 1000])
def test_a_spoilt_cache_is_compiled_anew_and_mended(tmp_path: Path, rubbish: str) -> None:
    (tmp_path / "fieldvoice").mkdir()
    kept = tmp_path / "fieldvoice" / f"grammar-{fingerprint()}.json"
    kept.write_text(rubbish)
    (tmp_path / "fieldvoice" / "grammar-old.json").write_text("of an older Fieldvoice")
    assert start(tmp_path).startswith("compiled 1 ")
    assert [path.name for path in (tmp_path / "fieldvoice").iterdir()] == [kept.name]
    assert start(tmp_path).startswith("compiled 0 ")


@pytest.mark.parametrize("command", [["parse", "four hundred microns"], ["say-what"]], ids=" ".join)
def test_a_command_about_words_takes_the_kept_grammar_too(
    command: list[str], tmp_path: Path
) -> None:
    script = ("import sys\nfrom fieldvoice.__main__ import main\n"
              "from fieldvoice.language import grammar\n"
              f"assert main({command}) == 0\n"
              "print('compiled', grammar._shipped.cache_info().misses)")
    runs = [subprocess.run(
        [sys.executable, "-c", script], capture_output=True, text=True, timeout=300, check=True,
        env={**os.environ, "XDG_CACHE_HOME": str(tmp_path)}).stdout for _ in range(2)]  # fmt: skip
    assert [run.splitlines()[-1] for run in runs] == ["compiled 1", "compiled 0"]
    assert runs[0].splitlines()[:-1] == runs[1].splitlines()[:-1]


def test_where_nothing_can_be_kept_it_is_compiled_each_time(tmp_path: Path) -> None:
    (tmp_path / "fieldvoice").write_text("in the way")
    assert start(tmp_path).startswith("compiled 1 ")


def test_a_kept_grammar_is_the_compiled_one() -> None:
    built, kept = grammar(), Grammar.from_text(grammar().to_text())
    for field in ("terminal_of", "words_of", "ignored", "starts", "rules"):
        assert getattr(kept, field) == getattr(built, field)
    assert kept.to_text() == built.to_text()  # a rule's options, too, which do not make it another
