"""A procedure with one step of each sort, for the tests of the assistant."""

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
