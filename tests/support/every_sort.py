"""A procedure with one step of each sort, and ways to come to each of them."""

from __future__ import annotations

from datetime import timedelta

from fieldvoice.dialogue import confidence
from fieldvoice.jobstate import events as e
from fieldvoice.language import intents as i
from support.bench import Bench

TEXT = """\
procedure every-sort "One step of each sort"
intro "Let us begin."
limit deep = 500 microns source "common practice"
limit wait = 10 min source "common practice"
limit short = 5 min source "common practice"
limit low = 1 psig source "common practice"
limit high = 10 psig source "common practice"
limit warm = 35 degF source "common practice"
caution power "Prove it dead." acknowledge
caution gloves "Gloves on."
caution gauge "Gauge shut first."
begin with gloves
stage ready "Make ready"
step lock
  say "Lock out the power."
  why "It may start by itself."
  caution power
  gate
step class
  say "Flammable, or not flammable?"
  choose flammable
  choose not-flammable
step clear-area
  only when class is flammable
  say "Clear the area."
step outdoor
  say "Tell me the outdoor temperature."
  read outdoor-temperature at least warm else go to warm-up
  go to pull
step warm-up
  say "Warm it, {outdoor-temperature.last} is cold."
stage evacuate "Evacuate"
step pull
  say "Pull below {limit.deep}."
  show "Longer words for the screen."
  why "Water boils away."
  read vacuum at most deep
  anytime break-with-nitrogen "when it stalls" then sweep
step stand
  say "Start the hold."
  gate
  hold wait "standing vacuum" ask vacuum at 0 1 2 4 6 8 min judge decay deep
  on tight go to finish-up
  on wet go to sweep
  on leaking go to search
  on not-yet-clear go to stand
stage repair "Repair"
step sweep
  say "Sweep {lap} of {laps}: let nitrogen in."
  caution gauge
  read nitrogen-pressure between low and high
step sweep-stand
  say "Say start the hold."
  caution gloves
  hold short "sweep"
  repeat from sweep until 2 times
  go to pull
step search
  say "Find the leak."
  go to pull
stage close "Close out"
step finish-up
  say "Pack up."
  end done "All done."
"""

# microns at MINUTES of the hold
TIGHT = (450, 451, 452, 453, 453, 454)
LEAKING = (450, 750, 1050, 1650, 2250, 2850)
WET = (450, 850, 1090, 1340, 1440, 1480)
MINUTES = (0, 1, 2, 4, 6, 8)
UNSURE = (confidence.ACCEPT_FROM + confidence.IGNORE_BELOW) / 2
NOISE = confidence.IGNORE_BELOW / 2


def at(bench: Bench, step: str) -> Bench:
    """Go on until the step is open."""
    for _ in range(60):
        if bench.state.step == step:
            return bench
        _one_on(bench)
    raise AssertionError(f"never came to {step}")


def _one_on(bench: Bench) -> None:
    if bench.state.unacknowledged():
        bench.say(i.Understood())
    match bench.state.step:
        case "class":
            bench.say(i.Choose("not-flammable"))
        case "outdoor":
            bench.read(70, "degF")
        case "pull":
            bench.read(450, "microns")
        case _:
            bench.say(i.Next())


def run_hold(bench: Bench, values: tuple[int, ...], last: int) -> str:
    """Ten minutes of hold with a reading at each mark; returns what the last one brought."""
    bench.say(i.StartHold())
    began = bench.now
    for minute, value in zip(MINUTES, values, strict=True):
        bench.now = began + timedelta(minutes=minute)
        bench.wait()
        bench.read(value, "microns")
        if bench.state.question:
            bench.say(i.Yes())
    bench.now = began + timedelta(minutes=10)
    bench.wait()
    return bench.read(last, "microns")


def taken(bench: Bench) -> list[tuple[str, str, str]]:
    """Readings as they were logged."""
    return [(v.quantity, v.value, v.unit) for v in bench.events(e.ReadingTaken)]
