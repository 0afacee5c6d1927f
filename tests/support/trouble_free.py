"""A commissioning without trouble, with its lines at each depth; and the transcripts made of it.

The kept transcripts of it are written anew by `cd tests && python -m support.trouble_free`.
"""

from __future__ import annotations

from collections import Counter

from fieldvoice.jobstate.depths import DEPTHS, EVERY_STEP
from fieldvoice.language.parser import understand
from fieldvoice.procedure.check import load
from fieldvoice.procedure.reader import shipped
from support.bench import Bench
from support.transcripts import FOLDER, replay, say

PROCEDURE = "commission-split-system"
SITE = {  # what the job's papers say; told by voice it takes a line each
    "refrigerant": "R-410A", "liquid-line": "3/8", "covered-length": "15 ft", "adder": "0.6 oz/ft",
}  # fmt: skip
HOLDS = {
    "nitrogen": ("~ 5", "four forty five", "~ 10", "four forty four", "~ 15", "four forty four",
                 "~ 15", "four forty three", "~ 15.1",
                 "nitrogen pressure four forty three ambient temperature seventy three"),
    "vacuum": ("~ 1", "two ninety four", "~ 1", "two ninety seven", "~ 1", "three hundred", "~ 1",
               "three zero two", "~ 2", "three oh five", "~ 2", "three oh seven", "~ 1.9",
               "three ten"),
}
FEW = (
    "understood and done", "done refrigerant amount six pounds four ounces", "not flammable",
    "flare", "done design pressure four fifty", "understood and done", "understood", "~ 1",
    "start the hold at one forty", "~ 5.1", "no bubbles", "~ 1", "start the hold at two twenty",
    "~ 6.1", "start the hold at four forty five", "~ 10.1",
    "start the hold ambient temperature seventy five nitrogen pressure four forty five",
    *HOLDS["nitrogen"], "understood and done", "no back seat",
    "line length thirty two feet outdoor temperature eighty four degrees", "~ 2",
    "seventy microns", "~ 1", "zero psig", "single pull", "~ 1.7", "twenty four hundred", "~ 8",
    "two eighty", "~ 1", "start the hold at two ninety", *HOLDS["vacuum"],
    "done", "understood", "suction pressure fifty psig", "weigh in", "~ 3", "ten point two ounces",
    "~ 1", "no bubbles", "ducted", "it drains",
    "done plate voltage two thirty rated load current fourteen point one plate fan current one "
    "point four", "done", "~ 5", "understood and done", "done", "understood and done", "~ 1",
    "voltage two thirty eight outdoor temperature eighty eight degrees", "~ 1",
    "compressor current eleven point four fan current point nine", "~ 1",
    "start the hold static pressure point four six airflow nine fifty", "~ 15.1",
)
METERING = {
    "fixed-orifice": (
        "fixed orifice",
        "suction pressure one eighteen suction line fifty eight indoor wet bulb seventy"),
    "expansion-valve": (
        "expansion valve", "target subcooling twelve",
        "liquid pressure three forty liquid line ninety one suction pressure one eighteen suction "
        "line fifty two"),
}
LAST = ("return air seventy six supply air fifty six", "~ 1", "no bubbles", "cooling only", "done",
        "done", "yes", "done")
ONE_BY_ONE = {  # what is said at a step where every step is prompted; "next" at all others
    "refrigerant-amount": ("refrigerant amount six pounds four ounces",),
    "refrigerant-class": ("not flammable",), "joint-kind": ("flare",),
    "plate": ("design pressure four fifty",), "first-raise": ("~ 1", "one forty"),
    "first-stand": ("start the hold", "~ 5.1"), "first-search": ("no bubbles",),
    "raise-half": ("~ 1", "two twenty"), "half-stand": ("start the hold", "~ 6.1"),
    "raise": ("four forty five",), "let-settle": ("start the hold", "~ 10.1"),
    "test-warmth": ("seventy five degrees",),
    "test-hold": ("start the hold", "four forty five", *HOLDS["nitrogen"]),
    "valve-kind": ("no back seat",), "line-length": ("thirty two feet",),
    "outdoor": ("eighty four degrees",), "blank-off": ("~ 2", "seventy microns"),
    "at-zero": ("~ 1", "zero psig"), "way-down": ("single pull",),
    "first-pull": ("~ 1.7", "twenty four hundred"), "deep-pull": ("~ 8", "two eighty"),
    "standing-vacuum": ("~ 1", "start the hold", "two ninety", *HOLDS["vacuum"]),
    "crack-liquid": ("suction pressure fifty psig",), "charge-way": ("weigh in",),
    "charge-add": ("~ 3", "ten point two ounces"), "core-leak": ("~ 1", "no bubbles"),
    "unit-kind": ("ducted",), "drain-test": ("it drains",),
    "unit-plate": ("plate voltage two thirty", "rated load current fourteen point one",
                   "plate fan current one point four"),
    "discharge": ("~ 5", "next"), "power-on": ("~ 1", "two thirty eight volts"),
    "outdoor-now": ("eighty eight degrees",), "start": ("~ 1", "eleven point four amps"),
    "fan": ("point nine amps",), "static": ("~ 1", "static pressure point four six"),
    "air-volume": ("airflow nine fifty",), "settle": ("start the hold", "~ 15.1"),
    "target": ("target subcooling twelve",), "suction": ("suction pressure one eighteen",),
    "suction-line": ("suction line temperature fifty eight",), "wet-bulb": ("seventy degrees",),
    "liquid": ("liquid pressure three forty",),
    "liquid-line": ("liquid line temperature ninety one",),
    "valve-suction": ("suction pressure one eighteen",),
    "valve-line": ("suction line temperature fifty two",),
    "return-air": ("seventy six degrees",), "supply-air": ("fifty six degrees",),
    "port-leak": ("~ 1", "no bubbles"), "unit-heats": ("cooling only",), "cooled": ("yes",),
}


def lines(depth: str, metering: str = "fixed-orifice") -> list[str]:
    """What is said, a line each, and "~ " with the minutes that pass."""
    if depth != EVERY_STEP:
        return [*FEW, *METERING[metering], *LAST]
    said = {**ONE_BY_ONE, "metering": (metering.replace("-", " "),)}
    told: list[str] = []
    bench = Bench(load(shipped(PROCEDURE)), SITE)
    while (step := bench.state.step) is not None:
        new = [*["understood"] * len(bench.state.unacknowledged()), *said.get(step, ("next",))]
        for line in new:
            say(bench, line)
        told += new
    return told


def worked(told: list[str], depth: str) -> Bench:
    """The job after these lines."""
    return replay("\n".join([_head(depth), *(_marked(line) for line in told)]))[1]


def _head(depth: str) -> str:
    facts = " ".join(f"{name}={value.replace(' ', '_')}" for name, value in SITE.items())
    return f"# {PROCEDURE} {facts} depth={depth}"


def _marked(line: str) -> str:
    return line if line.startswith("~ ") else f"> {line}"


def spoken(told: list[str]) -> Counter[str]:
    """How many lines of each kind of intent."""
    return Counter(understand(line).name() for line in told if not line.startswith("~ "))


if __name__ == "__main__":
    for depth in DEPTHS:
        text = "\n".join([_head(depth), *map(_marked, lines(depth))])
        (FOLDER / f"few-words-{depth}.txt").write_text(replay(text)[0], encoding="utf-8")
