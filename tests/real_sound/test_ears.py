"""The ears of the real program, through a real sound server."""

from __future__ import annotations

import subprocess
import sys
import time
from pathlib import Path

import numpy as np

from fieldvoice.jobstate.events import CUT_SHORT, Event, LineHeard
from support import sounds
from support.live_program import NEXT, LiveProgram, at_work, listens, live_program, quiet_job
from support.sound_server import Recording, SoundServer, sound_server

UNDERSTOOD, READING = (sounds.line(f"bakery-unit-two/{name}") for name in ("understood-1", "01"))
LOST, BACK = "The microphone is lost.", "The microphone is back."


def test_a_line_is_heard_after_a_minute_of_silence(tmp_path: Path) -> None:
    with at_work(tmp_path) as (server, program):
        listens(server, program)
        before = len(program.heard())
        time.sleep(6)  # so long that the recognizer ends an utterance without a word
        server.speak(UNDERSTOOD)
        assert program.wait_heard(before + 1)[-1] == "understood"
        time.sleep(60)  # flat, so that is told, once
        server.speak(UNDERSTOOD)
        assert program.wait_heard(before + 2)[-1] == "understood"
        assert program.output.count("is it muted?") == 1


def test_a_line_is_heard_after_a_minute_of_noise_and_in_it(tmp_path: Path) -> None:
    with at_work(tmp_path) as (server, program):
        server.speak(sounds.in_noise(NEXT, 60.0, 2.0, -40.0))
        program.wait_heard(1)
        assert program.heard() == ["next"]


def test_a_device_that_goes_is_told_typed_lines_go_on_and_it_is_taken_again(
    tmp_path: Path,
) -> None:
    with at_work(tmp_path) as (server, program):
        listens(server, program)
        connections = server.connections()
        server.remove_microphone()
        program.wait_for(LOST, timeout=30)
        program.type("where are we")
        program.wait_for("Make safe, step")  # typed lines go on
        server.bring_microphone_back()
        program.wait_for(BACK)
        heard = len(program.heard())
        server.speak(UNDERSTOOD)
        assert program.wait_heard(heard + 1)[-1] == "understood"
        program.wait(lambda: server.connections() <= connections)
        assert program.output.count(LOST) == program.output.count(BACK) == 1


def test_a_server_that_crashes_and_one_that_suspends_the_source_are_noticed(
    tmp_path: Path,
) -> None:
    with at_work(tmp_path) as (server, program):
        listens(server, program)
        server.control("suspend-source", "mic", "1")
        server.control("suspend-sink", "mouth", "1")
        program.wait_for(LOST, timeout=30)
        server.control("suspend-sink", "mouth", "0")
        server.control("suspend-source", "mic", "0")
        program.wait_for(BACK)
        listens(server, program, len(program.heard()) + 1)
        server.stop()
        program.wait_for(LOST, 2, timeout=30)
        server.start()
        program.wait_for(BACK, 2)
        listens(server, program, len(program.heard()) + 1)


def test_a_monitor_is_never_taken_and_a_microphone_that_is_plugged_in_is_found(
    tmp_path: Path,
) -> None:
    with sound_server(tmp_path / "sound") as server:
        server.remove_microphone()
        quiet_job(tmp_path, server)
        with live_program(tmp_path, server.environment) as program:
            program.wait_for("No microphone found.")
            for device in ("room", "mouth"):  # what another program plays is nobody's voice
                server.speak(NEXT, device=device)
            time.sleep(3)
            assert program.heard() == []
            server.bring_microphone_back()
            program.wait_for("I hear with")
            listens(server, program)
            assert program.output.count("No microphone found.") == 1


def _plug_in_lapel(server: SoundServer, rate: int, channels: int) -> None:
    form = f"rate={rate}", f"channels={channels}"
    server.control("load-module", "module-null-sink", "sink_name=throat", *form)
    server.control("load-module", "module-remap-source", "source_name=lapel",
                   "master=throat.monitor", *form,
                   "source_properties=device.description=Lapel")  # fmt: skip


def _heard_by_lapel(server: SoundServer, program: LiveProgram) -> None:
    before = len(program.heard())
    for _ in range(10):
        server.speak(UNDERSTOOD, device="throat")
        time.sleep(1.5)
        if len(program.heard()) > before:
            break
    assert program.heard()[before] == "understood"


def test_a_microphone_of_any_rate_is_heard_by_its_name(tmp_path: Path) -> None:
    with sound_server(tmp_path / "sound") as server:
        _plug_in_lapel(server, 44_100, 2)
        quiet_job(tmp_path, server)
        with live_program(tmp_path, server.environment, "--microphone", "lapel") as program:
            program.wait_for("Put on your glasses")
            _heard_by_lapel(server, program)
            server.control("unload-module", "module-remap-source")  # the other one goes, too
            program.wait_for(LOST)
            _plug_in_lapel(server, 8_000, 1)
            program.wait_for(BACK)
            _heard_by_lapel(server, program)
            server.bring_microphone_back()
            server.speak(NEXT)  # into the other one
            time.sleep(2)
            assert set(program.heard()) == {"understood"}


def test_its_own_voice_is_never_taken_and_a_line_begun_in_it_is_heard_whole_or_asked_for_again(
    tmp_path: Path,
) -> None:
    with at_work(tmp_path, quiet=False) as (server, program), server.recorded() as said:
        server.echo(-20.0)
        _wait_for_voice(said)
        _wait_for_quiet(said, 3.0)  # the whole of the opening: its pauses are shorter
        assert program.heard() == []
        for after in (0.0, 0.4):
            told = len(program.events("said"))
            program.type("how much is left")
            program.wait(lambda told=told: len(program.events("said")) > told)
            _wait_for_voice(said)
            _wait_for_quiet(said, 0.2 + after)
            server.speak(READING)
            time.sleep(6)
    voice = [e for e in program.events("line-heard") if e["source"] == "voice"]
    for event in voice:
        whole = event["words"] == "refrigerant amount five pounds"
        heard = Event.from_dict("line-heard", event)
        assert isinstance(heard, LineHeard)
        cut = heard.intent.get("kind") == CUT_SHORT
        assert whole or cut, event
        assert not cut or event["outcome"] == "asked-back"
    assert voice


def _wait_for_quiet(said: Recording, seconds: float) -> None:
    """Until nothing has sounded for so long."""
    wanted = round(seconds * sounds.RATE)
    until = time.monotonic() + 90
    while time.monotonic() < until:
        last = said.sound()[-wanted:]
        if len(last) == wanted and not np.any(np.abs(last) > 100):
            return
        time.sleep(0.02)
    raise AssertionError("it never stops speaking")


def _wait_for_voice(said: Recording) -> None:
    """Until something sounds."""
    until = time.monotonic() + 30
    while time.monotonic() < until:
        if np.any(np.abs(said.sound()[-1_600:]) > 500):
            return
        time.sleep(0.02)
    raise AssertionError("it says nothing")


def test_opening_again_and_again_leaks_nothing(tmp_path: Path) -> None:
    with sound_server(tmp_path / "sound") as server:
        told = subprocess.run(
            [sys.executable, "-c", _OPEN_AGAIN], check=True, capture_output=True, text=True,
            env={**dict(server.environment), "PATH": "/usr/bin"}, cwd=tmp_path,
        ).stdout.split()  # fmt: skip
        first, last = int(told[0]), int(told[1])
        assert last <= first + 1
        assert server.connections() == 1  # the one that asks


_OPEN_AGAIN = """
import os
from fieldvoice.devices.ears import SoundSystem, choose
system = SoundSystem()
def descriptors():
    return len(os.listdir("/proc/self/fd"))
for number in range(60):
    system.open(choose(system.found()), lambda block: None).close()
    if number == 4:
        print(descriptors())
print(descriptors())
"""
