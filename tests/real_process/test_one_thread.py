"""Hearing multiplies small matrices: more threads would only wait for each other."""

import subprocess
import sys

import pytest

THREADS = """
import os, sys
from fieldvoice.__main__ import main
assert "numpy" not in sys.modules, "too late to say how many threads it takes"
main({arguments})
print(os.environ.get("OPENBLAS_NUM_THREADS"))
"""


def threads(arguments, monkeypatch, wanted=None):
    monkeypatch.delenv("OPENBLAS_NUM_THREADS", raising=False)
    if wanted:
        monkeypatch.setenv("OPENBLAS_NUM_THREADS", wanted)
    code = THREADS.format(arguments=arguments)
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True,
                          check=True, timeout=60)  # fmt: skip
    return done.stdout.splitlines()[-1]


def test_numpy_takes_one_thread(monkeypatch):
    assert threads(["parse", "next"], monkeypatch) == "1"


def test_but_as_many_as_the_user_says(monkeypatch):
    assert threads(["parse", "next"], monkeypatch, wanted="3") == "3"


@pytest.mark.parametrize("arguments", [["learn-voice", "--list"]])
def test_learning_a_voice_takes_all(arguments, monkeypatch):
    assert threads(arguments, monkeypatch) == "None"
