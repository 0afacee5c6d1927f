"""A real sound server of the test's own, with a virtual loudspeaker and a virtual microphone.

What is played into "mouth" is heard by the microphone "mic"; what a program says into the
loudspeaker "room" can be recorded from its monitor. Needs PulseAudio as Debian brings it:
apt-get install pulseaudio pulseaudio-utils.
"""

from __future__ import annotations

import os
import shutil
import subprocess
import time
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path

import numpy as np
import pytest
import soxr
from numpy.typing import NDArray

RATE = 16_000  # of sound that is played and recorded here; the server itself runs at 48 kHz
_START_S = 20.0
_SPEAKER = "module-null-sink sink_name=room rate=48000 channels=1"
_MOUTH = "module-null-sink sink_name=mouth rate=48000 channels=1"
_MICROPHONE = "module-remap-source source_name=mic master=mouth.monitor"

Sound = NDArray[np.int16]


def require_sound_server() -> None:
    """Skip the test where there is no PulseAudio; in continuous integration that is a failure."""
    if shutil.which("pulseaudio") and shutil.which("pactl") and shutil.which("parec"):
        return
    reason = "no PulseAudio: apt-get install pulseaudio pulseaudio-utils"
    if os.environ.get("CI"):
        pytest.fail(reason)
    pytest.skip(reason)


class SoundServer:
    """A running server; `environment` makes a program use it."""

    def __init__(self, folder: Path, modules: tuple[str, ...] = (_SPEAKER, _MOUTH, _MICROPHONE)):
        self.folder = folder
        self._modules = modules
        socket = folder / "sound.sock"
        self.environment: Mapping[str, str] = {
            "PULSE_SERVER": f"unix:{socket}", "HOME": str(folder), "XDG_RUNTIME_DIR": str(folder),
        }  # fmt: skip
        self._socket = socket
        self._process: subprocess.Popen[bytes] | None = None
        self.start()

    def start(self) -> None:
        """Start it, again after `stop`."""
        self.folder.mkdir(parents=True, exist_ok=True)
        self._socket.unlink(missing_ok=True)
        native = f"module-native-protocol-unix auth-anonymous=1 socket={self._socket}"
        loads = [part for module in (native, *self._modules) for part in ("-L", module)]
        self._process = subprocess.Popen(
            ["pulseaudio", "-n", "--daemonize=no", "--exit-idle-time=-1", "--disallow-exit",
             "--use-pid-file=no", "--realtime=no", f"--log-target=file:{self.folder}/pulse.log",
             *loads],
            env={**os.environ, **self.environment}, stdin=subprocess.DEVNULL,
            stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, start_new_session=True,
        )  # fmt: skip
        until = time.monotonic() + _START_S
        while subprocess.run(["pactl", "info"], env=self._env(), capture_output=True).returncode:
            if time.monotonic() > until:
                raise RuntimeError(f"PulseAudio did not start; see {self.folder}/pulse.log")
            time.sleep(0.05)
        if _SPEAKER in self._modules:
            self.control("set-default-sink", "room")
        if _MICROPHONE in self._modules:
            self.control("set-default-source", "mic")

    def stop(self) -> None:
        """End it, as when the server crashes."""
        if self._process is not None:
            self._process.kill()
            self._process.wait()
            self._process = None

    def control(self, *words: str) -> str:
        """Run pactl; what it prints. "load-module NAME ..." prints the module's number."""
        return subprocess.run(
            ["pactl", *words], env=self._env(), check=True, capture_output=True, text=True
        ).stdout.strip()

    def speak(self, sound: Sound, rate: int = RATE, device: str = "mouth") -> None:
        """Play into the microphone, or elsewhere; returns when the last of it has been played."""
        subprocess.run(
            ["pacat", "--playback", "-d", device, "--raw", "--format=s16le", f"--rate={rate}",
             "--channels=1", "--latency-msec=20"],
            input=sound.astype("<i2").tobytes(), env=self._env(), check=True,
        )  # fmt: skip

    def connections(self) -> int:
        """How many programs are connected."""
        return len(self.control("list", "short", "clients").splitlines())

    def remove_microphone(self) -> None:
        """As when the plug is pulled."""
        self.control("unload-module", "module-remap-source")

    def bring_microphone_back(self) -> None:
        """Plugged in again."""
        self.control("load-module", *_MICROPHONE.split())
        self.control("set-default-source", "mic")

    def echo(self, part_db: float = -20.0) -> str:
        """Let the microphone hear the loudspeaker, softer by so much; the module's number."""
        number = self.control("load-module", "module-loopback", "source=room.monitor",
                              "sink=mouth", "latency_msec=30")  # fmt: skip
        for line in self.control("list", "short", "sink-inputs").splitlines():
            stream, _sink, _client, driver, *_ = line.split("\t")
            if "loopback" in driver:
                self.control("set-sink-input-volume", stream, f"{part_db}dB")
        return number

    @contextmanager
    def recorded(self, device: str = "room.monitor") -> Iterator[Recording]:
        """Record what sounds meanwhile; read it afterwards, or at any time before."""
        path = self.folder / f"recorded-{time.monotonic_ns()}.raw"
        with path.open("wb") as file:
            process = subprocess.Popen(
                ["parec", "-d", device, "--raw", f"--rate={RATE}", "--channels=1",
                 "--format=s16le", "--latency-msec=20"],
                env=self._env(), stdout=file, stderr=subprocess.DEVNULL,
            )  # fmt: skip
            try:
                yield Recording(path)
            finally:
                process.terminate()
                process.wait()

    def _env(self) -> dict[str, str]:
        return {**os.environ, **self.environment}


class Recording:
    """Sound recorded so far, RATE samples a second."""

    def __init__(self, path: Path) -> None:
        self._path = path

    def sound(self) -> Sound:
        """All samples so far."""
        raw = self._path.read_bytes()
        return np.frombuffer(raw[: len(raw) // 2 * 2], dtype="<i2").astype(np.int16)


@contextmanager
def sound_server(folder: Path) -> Iterator[SoundServer]:
    """A server for the time of a test, which is skipped where there is none."""
    require_sound_server()
    server = SoundServer(folder)
    try:
        yield server
    finally:
        server.stop()


def at_rate(sound: Sound, rate: int, to_rate: int) -> Sound:
    """The sound at another sampling rate."""
    return np.asarray(soxr.resample(sound, rate, to_rate), dtype=np.int16)
