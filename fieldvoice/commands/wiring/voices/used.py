"""--voice-of NAME: the speech model with a technician's voice in it, laid out to be loaded."""

from __future__ import annotations

import argparse
import hashlib
import os
import secrets
import shutil
from itertools import chain
from pathlib import Path

from fieldvoice.commands.wiring.errors import CommandError
from fieldvoice.jobstate.events import NO_OWN_VOICE, OwnVoiceUsed


def add_voice_of_option(parser: argparse.ArgumentParser) -> None:
    """Add --voice-of."""
    parser.add_argument(
        "--voice-of", metavar="NAME",
        help="hear with the voice that was learned of this technician: fieldvoice learn-voice",
    )  # fmt: skip


def asked_for(args: argparse.Namespace) -> tuple[Path | None, OwnVoiceUsed]:
    """The model folder that the options ask for (None: the one that Fieldvoice brings), and whose
    voice is in it.

    Raises CommandError, VoiceError, LayoutError or ModelError.
    """
    model: Path | None = args.model
    return (model, NO_OWN_VOICE) if args.voice_of is None else with_voice_of(args.voice_of, model)


def with_voice_of(name: str, model: Path | None) -> tuple[Path, OwnVoiceUsed]:
    """A model folder in the cache, the model's own but for its network; and whose voice is in it.

    Made where it is not there yet. Raises CommandError, VoiceError, LayoutError or ModelError.
    """
    from fieldvoice.commands.wiring.voices.kept import place_of
    from fieldvoice.devices.vosk_recognizer import OWN_MODEL, check_model
    from fieldvoice.ownvoice.adapted_model import with_voice
    from fieldvoice.ownvoice.voice_file import from_bytes

    base = model or OWN_MODEL
    check_model(base)
    place = place_of(name)
    learned = place.data()
    voice = from_bytes(learned, str(place.file))
    data = with_voice((base / "am" / "final.mdl").read_bytes(), voice)
    key = hashlib.sha256(learned + str(base.resolve()).encode() + data).hexdigest()[:16]
    used = OwnVoiceUsed(voice.name, hashlib.sha256(learned).hexdigest(), voice.sureness)
    return laid_out(base, data, _cache() / f"{voice.name}-{key}"), used


def laid_out(base: Path, final: bytes, folder: Path) -> Path:
    """A model folder with another network; older ones of the same speaker go.

    Raises CommandError where there is no room.
    """
    if _is_whole(folder, final, base):
        return folder
    partial = folder.with_name(f".{secrets.token_hex(6)}.part")
    try:
        (partial / "am").mkdir(mode=0o700, parents=True)
        (partial / "am" / "final.mdl").write_bytes(final)
        for part in _others(base):
            _linked(base / part, partial / part)
        _remove_made_of(folder.name.rpartition("-")[0], folder.parent)
        partial.replace(folder)
    except OSError as error:
        shutil.rmtree(partial, ignore_errors=True)
        if _is_whole(folder, final, base):  # another process was faster
            return folder
        raise CommandError(f"cannot lay out the model with the voice in {folder.parent}: "
                           f"{error.strerror}; about 10 MB are needed there") from None
    return folder


def forget_laid_out(name: str) -> None:
    """Remove what was made of a voice for hearing."""
    _remove_made_of(name, _cache())


def _remove_made_of(name: str, cache: Path) -> None:
    for old in cache.glob("*"):
        if old.name.rpartition("-")[0] == name:
            shutil.rmtree(old, ignore_errors=True)


def _cache() -> Path:
    from fieldvoice.devices.cache import cache_folder

    return cache_folder() / "voices"


def _others(base: Path) -> list[Path]:
    """What a model folder holds beside its network, whatever that is."""
    inside = [part for part in (base / "am").iterdir() if part.name != "final.mdl"]
    return [part.relative_to(base)
            for part in chain(inside, base.iterdir()) if part.name != "am"]


def _is_whole(folder: Path, final: bytes, base: Path) -> bool:
    try:
        linked = all((folder / part).exists() for part in _others(base))
        return linked and (folder / "am" / "final.mdl").read_bytes() == final
    except OSError:
        return False


def _linked(source: Path, target: Path) -> None:
    """A link where the system has links, else a copy."""
    try:
        os.symlink(source.resolve(), target, target_is_directory=source.is_dir())
    except OSError:
        copy = shutil.copytree if source.is_dir() else shutil.copy2
        copy(source, target)
