"""How clearly a line was to be heard."""

from __future__ import annotations

from dataclasses import dataclass

CLIPPED_FROM = 0.005  # share of samples at full scale; 3 dB over gives 0.0002, 9 dB over 0.01
QUIET_DB = 30.0  # speech so far above the noise is as clear as can be


@dataclass(frozen=True)
class Clarity:
    """What the sound tells of how far the words heard in it can be trusted."""

    above_noise_db: float  # of the loud parts of the speech
    clipped_part: float = 0.0  # of the samples that were too loud for the microphone, 0..1
    unlike: float = 0.0  # how much likelier, a phone, any sounds are than the words; a logarithm

    @property
    def clipped(self) -> bool:
        """Whether so much was cut off that no number in it is taken without a question."""
        return self.clipped_part >= CLIPPED_FROM


CLEAR = Clarity(QUIET_DB)  # where nobody measured
