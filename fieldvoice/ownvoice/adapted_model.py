"""The model's final.mdl with a voice in it."""

from __future__ import annotations

from fieldvoice.acoustics.final_mdl import read_weights, with_weights
from fieldvoice.ownvoice.errors import VoiceError
from fieldvoice.ownvoice.network import Adaptation, adapted, identity
from fieldvoice.ownvoice.voice_file import Voice, model_hash


def with_voice(final_mdl: bytes, voice: Voice) -> bytes:
    """final.mdl as it hears this speaker best. Raises VoiceError for a voice of another model."""
    if model_hash(final_mdl) != voice.model:
        raise VoiceError(f"the voice of {voice.name} was learned with another speech model; learn "
                         f"it again: fieldvoice learn-voice {voice.name}")
    return with_adaptation(final_mdl, voice.adaptation)


def with_adaptation(final_mdl: bytes, adaptation: Adaptation) -> bytes:
    """final.mdl adapted. Raises VoiceError for an adaptation of another shape."""
    weights = read_weights(final_mdl)
    shapes = {name: value.shape for name, value in identity(weights).items()}
    if {name: value.shape for name, value in adaptation.items()} != shapes:
        raise VoiceError("what was learned does not fit this speech model; learn it again")
    return with_weights(final_mdl, adapted(weights, adaptation))
