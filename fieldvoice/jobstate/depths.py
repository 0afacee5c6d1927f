"""How much is said of the work: three depths, by the names that they have in the log."""

from __future__ import annotations

EVERY_STEP = "every-step"  # each step with its own prompt
READINGS_AND_HOLDS = "readings-and-holds"  # what is only done is listed before what follows it
LIMITS_ONLY = "limits-only"  # so, too, and nothing said but timers, limits and cautions
DEPTHS = (EVERY_STEP, READINGS_AND_HOLDS, LIMITS_ONLY)
KINDS = ("gates", "readings", "holds", "choices")  # of steps, that can keep their own prompt
