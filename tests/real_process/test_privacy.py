"""What leaves the program, seen by the system: no socket but the sound server's own, and no file
outside the job's folder. Python cannot hide a socket here that a library opens behind its back.
"""

import json
import os
import re
import shutil
import stat
import subprocess
import sys
import tempfile
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path

import pytest

from support.heard_back import sound
from support.small_procedure import TEXT
from support.sound_server import SoundServer, sound_server
from support.wav_file import write_wav

CALLS = "trace=socket,connect,bind,sendto,openat,open,creat,mkdir,mkdirat,rename,renameat2,unlink"
PROGRAM = f"{sys.executable} -B -m fieldvoice"  # -B: no byte code is written beside the sources
SOCKETS = {"AF_UNIX", "AF_LOCAL"}
# The shared memory of the sound server, in which its clients put sound, its cookie, and devices.
NO_FILES = (r"/dev/null", r"/dev/tty", r"/dev/pts/\d+", r"/dev/snd/.*", r"/dev/shm/pulse-shm-\d+",
            r"/proc/self/.*")


def require_strace() -> None:
    if shutil.which("strace"):
        return
    reason = "no strace: apt-get install strace"
    if os.environ.get("CI"):
        pytest.fail(reason)
    pytest.skip(reason)


@dataclass(frozen=True)
class Traced:
    """What a process and its children asked the system for."""

    calls: list[str]

    def sockets(self) -> list[tuple[str, str]]:
        """Families of all sockets made, and to which addresses they were connected."""
        made = [("made", m[1]) for call in self.calls if (m := re.search(r"socket\((\w+)", call))]
        to = [("to", m[1]) for call in self.calls
              if (m := re.search(r"connect\(\d+, \{(.*?)\}", call))]
        return made + to

    def written(self) -> set[str]:
        """Paths of all files that were opened to be written, or made."""
        opened = (re.search(r'open(?:at)?\((?:AT_FDCWD, )?"([^"]+)", ([A-Z_|]+).*\) = \d', call)
                  for call in self.calls)
        made = (re.search(r'(?:creat|mkdir|rename)(?:at)?\((?:AT_FDCWD, )?"([^"]+)".*\) = \d', call)
                for call in self.calls)
        return {m[1] for m in opened if m and re.search("O_WRONLY|O_RDWR|O_CREAT", m[2])} | {
            m[1] for m in made if m}


@dataclass(frozen=True)
class Place:
    """A folder to work in, with a sound server."""

    folder: Path
    server: SoundServer

    def trace(self, command: str, during: str = "") -> Traced:
        """Run a command on a terminal under strace; `during`: lines of bash beside it, whose
        output is typed.
        """
        log = self.folder / "strace.log"
        typed = f"({during}) | " if during else ""
        traced = f"strace -f -qq -s 300 -o {log} -e {CALLS} {command}"
        subprocess.run(
            ["bash", "-c", f"{typed}script -qfec '{traced}' /dev/null"],
            cwd=self.folder, timeout=300, check=False, stdin=subprocess.DEVNULL,
            stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL,
            env={**os.environ, **self.server.environment, "TERM": "xterm",
                 "XDG_DATA_HOME": str(self.folder / "data"), "TMPDIR": str(self.folder / "tmp")},
        )  # fmt: skip
        return Traced(log.read_text("utf-8", "replace").splitlines())

    def stays_here(self, traced: Traced, *allowed: Path) -> None:
        """Fail where anything went elsewhere."""
        socket = str(self.server.folder)
        for what, said in traced.sockets():
            assert said in SOCKETS if what == "made" else socket in said, (what, said)
        usual = [*allowed, self.folder / "tmp"]
        for path in traced.written():
            at = self.folder / path
            inside = any(at.is_relative_to(folder) or (at.is_dir() and at in folder.parents)
                         for folder in usual)  # the folders above it are made as well
            assert inside or any(re.fullmatch(p, path) for p in NO_FILES) \
                or Path(path).is_relative_to(self.server.folder), path
        assert list((self.folder / "tmp").iterdir()) == []  # what was made there is gone


@pytest.fixture
def place(tmp_path: Path) -> Iterator[Place]:
    require_strace()
    (tmp_path / "small.procedure").write_text(TEXT, "utf-8")
    (tmp_path / "tmp").mkdir()
    write_wav(tmp_path / "line.wav", sound("understood"))
    with sound_server(Path(tempfile.mkdtemp(prefix="sound"))) as server:
        yield Place(tmp_path, server)
    shutil.rmtree(server.folder, ignore_errors=True)


def _speak() -> str:
    """Bash lines that say "understood" into the microphone once it is open, and end the work."""
    opened = "pactl list short source-outputs | grep -q ."
    waits = f"for n in $(seq 400); do {opened} && break; sleep 0.3; done"
    hushed = 'printf "\\033OQ"; sleep 2'  # F2: else the first words are said to the end
    said = f"{hushed}; paplay -d mouth line.wav; sleep 4"
    keys = 'printf "what now\\r"; sleep 3; printf "\\003"'
    return f"{waits}; sleep 3; {said}; {said}; {keys}"


def test_work_opens_no_socket_but_the_sound_servers_and_keeps_all_in_the_job(place: Place) -> None:
    traced = place.trace(f"{PROGRAM} work small.procedure --job a", _speak())
    job = place.folder / "data" / "fieldvoice" / "jobs" / "a"
    assert ("made", "AF_UNIX") in traced.sockets()  # it did speak to the sound server
    place.stays_here(traced, job.parent.parent)
    assert {path.parent.name for path in map(Path, traced.written()) if path.suffix == ".wav"
            and "tmp" not in path.parts} <= {"clips"}
    log = [json.loads(line) for line in (job / "log.jsonl").read_text("utf-8").splitlines()]
    assert "voice" in [line["data"]["source"] for line in log if line["kind"] == "line-heard"]
    for path in (job, job / "clips"):
        assert stat.S_IMODE(path.stat().st_mode) == 0o700, path


def test_without_clips_no_sound_is_written(place: Place) -> None:
    traced = place.trace(f"{PROGRAM} work small.procedure --job a --no-clips", _speak())
    job = place.folder / "data" / "fieldvoice" / "jobs" / "a"
    place.stays_here(traced, job.parent.parent)
    assert list((job / "clips").iterdir()) == []
    log = (job / "log.jsonl").read_text("utf-8")
    assert '"kind": "clips-kept", "data": {"kept": false}' in log
    assert '"source": "voice"' in log  # there would have been something to keep


@pytest.mark.parametrize(
    "command", ["doctor", "hear line.wav", "demo --recordings recorded --into out"]
)
def test_other_commands_open_no_other_socket_and_keep_no_sound_elsewhere(
    command: str, place: Place
) -> None:
    recorded = place.folder / "recorded"
    recorded.mkdir()
    (place.folder / "line.wav").rename(recorded / "line.wav")
    shutil.copy(recorded / "line.wav", place.folder)
    (recorded / "job.toml").write_text(
        'title = "One line"\nprocedure = "evacuate-and-release"\n'
        '[[line]]\nfile = "line.wav"\ntext = "understood"\n', "utf-8")
    traced = place.trace(f"{PROGRAM} {command}")
    assert traced.calls
    place.stays_here(traced, place.folder / "out", place.folder / "data")


def test_a_socket_and_a_file_elsewhere_would_be_noticed(place: Place) -> None:
    script = place.folder / "leak.py"
    script.write_text("import socket\ns = socket.socket(); s.connect_ex(('127.0.0.1', 9))\n"
                      "open('/var/tmp/leak', 'w').close()\n", "utf-8")
    traced = place.trace(f"{sys.executable} {script}")
    Path("/var/tmp/leak").unlink()
    assert ("made", "AF_INET") in traced.sockets()
    assert "/var/tmp/leak" in traced.written()
    with pytest.raises(AssertionError):
        place.stays_here(traced)
