"""A procedure small enough for tests: pull a vacuum, hold it, let the verdict lead on."""

TEXT = """\
procedure pump-down "Pump down and hold"
limit deep-vacuum = 500 microns source "common practice"
limit hold-time = 10 min source "common practice"
caution no-oxygen "Never put oxygen into the system." acknowledge
stage evacuate "Evacuate"
step pull
  say "Run the pump and read the gauge."
  why "Water boils away below its vapour pressure."
  caution no-oxygen
  read vacuum at most deep-vacuum
step isolate
  say "Close the valve at the pump, then start the hold."
  hold hold-time "Stand still." ask vacuum at 0 1 2 5 min judge decay deep-vacuum
  on tight go to release
  on leaking go to search
  on wet go to pull
  on not-yet-clear go to isolate
step search
  say "Look for the leak with bubbles."
  go to pull
step release
  say "Release the charge."
  end released "System released."
"""

# (seconds since the line before, what is said): a system that holds its vacuum
TIGHT_JOB = (
    (5, "understood"),
    (60, "nine hundred microns"),
    (300, "vacuum four hundred ten"),
    (20, "start the hold"),
    (5, "four hundred twelve"),
    (60, "four hundred twenty"),
    (60, "four hundred twenty five"),
    (180, "four hundred twenty eight"),
    (310, "four hundred thirty"),
    (10, "next"),
)
