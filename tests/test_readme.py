"""README.md shows what the program does: its parts are drawn anew and compared."""

import argparse
import re
import shlex
from importlib import import_module

import pytest

from fieldvoice.commands import COMMANDS
from fieldvoice.commands.wiring.recorded_jobs import shipped_jobs
from fieldvoice.devices.vosk_recognizer import OWN_MODEL
from fieldvoice.language.intents import NotUnderstood
from fieldvoice.language.parser import understand
from support.readme_parts import PART, PARTS, README

TEXT = README.read_text(encoding="utf-8")
WRITTEN = dict(PART.findall(TEXT))
NEED_THE_MODEL = ("demo", "report")
SURENESS = re.compile(r"\d+% sure")  # differs in the last digit from machine to machine


def test_every_part_is_there_once():
    assert sorted(name for name, _ in PART.findall(TEXT)) == sorted(PARTS)


@pytest.mark.parametrize("name", PARTS)
def test_no_part_shows_what_is_meant_for_a_browser(name):
    assert not re.findall(r"[{}]|</?\w+>", WRITTEN[name])


@pytest.mark.parametrize("name", PARTS)
def test_a_part_is_what_the_program_gives_today(name):
    if name in NEED_THE_MODEL and not OWN_MODEL.is_dir():
        pytest.skip("needs the speech model")
    again = "to renew it run: cd tests && python -m support.readme_parts"
    assert SURENESS.sub("", PARTS[name]()) == SURENESS.sub("", WRITTEN[name]), again


@pytest.mark.parametrize("line", re.findall(r'"([^"]+)"', WRITTEN["heard"]))
def test_every_sentence_shown_is_understood_by_voice(line):
    assert not isinstance(understand(line, typed=False), NotUnderstood)


def commands_shown():
    blocks = re.findall(r"```sh\n(.*?)```", TEXT, re.DOTALL)
    lines = "\n".join(blocks).replace("\\\n", " ").splitlines()
    return [shlex.split(line, comments=True) for line in lines if line.startswith("fieldvoice ")]


def options_of(command):
    commands = argparse.ArgumentParser().add_subparsers()
    import_module(COMMANDS[command][0]).add_parser(commands)
    return {o for action in commands.choices[command]._actions for o in action.option_strings}


@pytest.mark.parametrize("words", commands_shown(), ids=" ".join)
def test_every_command_shown_exists_with_its_options(words):
    known = {*options_of(words[1]), "--help", "--sheet", "--text", "--drawing", "--json"}
    assert {word for word in words if word.startswith("--")} <= known


def test_the_demo_shown_is_one_that_is_shipped():
    assert any(folder.name == "bakery-unit-two" for folder in shipped_jobs())
