"""What a hold or a check can come to, and the readings that it works with."""

from __future__ import annotations

from collections.abc import Mapping

VERDICTS: Mapping[str, tuple[str, ...]] = {
    "decay": ("tight", "wet", "leaking", "not-yet-clear"),
    "nitrogen": ("passed", "failed", "gaining", "not-yet-clear"),
}
CHECKS: Mapping[str, tuple[str, ...]] = {
    "superheat": ("on-target", "high", "low", "not-known"),
    "valve-superheat": ("on-target", "high", "low", "not-known"),
    "subcooling": ("on-target", "high", "low", "not-known"),
}
# readings that a check works with
CHECKED: Mapping[str, tuple[str, ...]] = {
    "superheat": ("suction-pressure", "suction-temperature", "indoor-wet-bulb",
                  "outdoor-temperature"),
    "valve-superheat": ("suction-pressure", "suction-temperature"),
    "subcooling": ("liquid-pressure", "liquid-temperature"),
}

# the reading that a judge works with
JUDGED: Mapping[str, str] = {"decay": "vacuum", "nitrogen": "nitrogen-pressure"}
# readings beside the hold's own that a judge needs after the time is over
CLOSING: Mapping[str, tuple[str, ...]] = {"nitrogen": ("ambient-temperature",)}
