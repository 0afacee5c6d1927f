"""Bad input to every calculation: the error names the input and says what is permitted."""

from __future__ import annotations

import argparse
import shlex

import pytest

from fieldvoice.commands.work_out import CALCULATIONS, add_parser, run

_HOLD = "decay 0:250 5:260 10:270"
_PULL = "pull 1:9000 2:8000 3:7000 --target 500um"
_SPEED = "speed --pump 5cfm --bore 0.25in --length 5ft --at 500um"
_LEAK = "leak-rate --volume 5L --first 500um --last 1000um --time 10min"
_NITROGEN = "nitrogen --start 450psig --start-temperature 80F --end-temperature 65F"
_ENDED = f"{_NITROGEN} --end 436psig --time 60min"
_CHARGE = "charge R-32 --liquid 3/8 --length 40ft --covered-length 15ft"
_AIR = "air --return 75F --return-wet-bulb 63F --supply 55F"
_COLUMNS = ("line", "names", "permitted")
# what is typed, what the error calls the input, what it says is permitted
REFUSED = [
    ("decay 0:250 0:260 3:300", "time of reading 2", "times must grow"),
    ("decay 0:250 2:260 1:300", "time of reading 3", "times must grow"),
    ("decay 0:250 1:0um 2:300", "pressure of reading 2", "above zero"),
    ("decay 0:250 1:-5um 2:300", "reading 2", "below absolute zero"),
    ("decay 0:900000 1:2 2:3", "pressure of reading 1", "0 to 111458 Pa"),
    (f"{_HOLD} --volume 0L", "system volume", "above zero"),
    (f"{_HOLD} --ambient 300F", "ambient temperature", "-60 to 70 C (-76 to 158 F)"),
    (f"{_HOLD} --ambient=-500F", "ambient", "below absolute zero"),
    (f"{_HOLD} --limit 0um --hold 10min", "limit", "above zero"),
    (f"{_HOLD} --limit 500um --hold 0min", "hold", "above zero"),
    (f"{_HOLD} --noise 90%", "gauge noise", "0 to 0.5"),
    (f"{_HOLD} --resolution 0um", "gauge resolution", "permitted range"),
    (f"{_HOLD} --altitude 90000ft", "altitude", "-610 to 11000 m"),
    ("pull 1:9000 2:8000 3:7000 --target 0um", "target", "permitted range"),
    ("pull 1:9000 2:8000 2:7000 --target 500um", "time of reading 3", "times must grow"),
    ("pull 1:9000 2:8000 --target 500um", "forecast", "at least three"),
    (f"{_PULL} --blank-off 0um", "blank-off pressure", "above zero"),
    (f"{_PULL} --ambient 200F", "ambient temperature", "-76 to 158 F"),
    (_LEAK.replace("5L", "0L"), "system volume", "above zero"),
    (_LEAK.replace("5L", "900m3"), "system volume", "0 to 100 m3"),
    (_LEAK.replace("1000um", "99999psig"), "last pressure", "0 to 1015.26 psia"),
    (_LEAK.replace("10min", "0min"), "time between the readings", "above zero"),
    (_SPEED.replace("5cfm", "0cfm"), "pump speed", "above zero"),
    (_SPEED.replace("0.25in", "9ft"), "bore of hose", "0 to 0.5 m"),
    (_SPEED.replace("5ft", "0ft"), "length of hose", "above zero"),
    (_SPEED.replace("500um", "300psig"), "system pressure", "14.6959 psia"),
    (f"{_SPEED} --cores 9", "number of cores", "1 to 4"),
    ("sweep 500um 500um", "breaks", "one break pressure"),
    ("sweep 0um", "pull 1", "above zero"),
    ("sweep 900000um", "pull 1", "below the pressure before it, 760000 microns"),
    ("sweep 500um 500um --break 100um", "break 1", "permitted range"),
    ("water --at 0um", "vapour pressure", "permitted range"),
    ("water --temperature 900F", "water temperature", "32.018 to 705.103 F"),
    ("water --temperature=-400F", "ice temperature", "50 to 273.16 K"),
    ("water --at 500um --mass 0g", "water mass", "above zero"),
    ("water --mass 5g", "mass", "give --at"),
    ("volume 9/16:3ft", "'9/16'", "1/4, 5/16, 3/8"),
    ("volume 3/8:0ft", "3/8 length", "above zero"),
    ("volume 3/8:3ft --other 0L", "part 1", "above zero"),
    (_NITROGEN.replace("450psig", "9000psig"), "start pressure", "8.70226 to 1015.26 psia"),
    (_NITROGEN.replace("80F", "300F"), "start temperature", "-40 to 158 F"),
    (_NITROGEN.replace("65F", "900F"), "end temperature", "-40 to 158 F"),
    (f"{_NITROGEN} --end 436psig", "time", "--time"),
    (f"{_NITROGEN} --time 60min", "pressure at the end", "--end"),
    (f"{_ENDED} --hold 0min", "hold in force", "above zero"),
    (f"{_ENDED} --volume 0L", "system volume", "above zero"),
    # the 5 % is Trane 5TTR5018 section 8.1
    (f"{_ENDED} --resolution 30psi", "gauge resolution", "over 5 % of the test pressure"),
    ("stages --design 2psig", "design pressure", "100 to 900 psig"),
    ("saturation R-999 --at 100psig", "'R-999'", "R-410A, R-32, R-454B, R-22, R-134a"),
    ("saturation R-32 --at 5000psig", "R-32 at 5014.7 psia", "7.9 to 735.4 psia"),
    ("saturation R-32 --temperature 300F", "R-32 at 300.0 F", "-82 to 161 F"),
    ("superheat R-410A --at 900psig --line 50F", "R-410A at 914.7 psia", "7.8 to 659.5 psia"),
    ("superheat R-410A --at 118psig --line 5000F", "line temperature", "-99.67 to 350.33 F"),
    ("superheat R-410A --at 118psig --line 50F --target 90F", "target superheat", "5 to 60 F"),
    ("subcooling R-410A --at 1psia --line 50F", "R-410A at 1.0 psia", "7.8 to 660.1 psia"),
    ("subcooling R-22 --at 200psig --line 90F --target 90F", "target subcooling", "0 to 60 F"),
    # Lennox 14ACX manual p. 26: the first figure in the row of 95 F stands under 64 F wet bulb
    ("target-superheat --wet-bulb 60F --outdoor 95F", "wet bulb", "64 to 76 F"),
    ("target-superheat --wet-bulb 90F --outdoor 95F", "indoor wet bulb", "50 to 76 F"),
    ("target-superheat --wet-bulb 67F --outdoor 20F", "outdoor temperature", "55 to 115 F"),
    ("charge R-32 --liquid 3/8 --length 40ft", "factory charge covers", "a line length or a mass"),
    (_CHARGE.replace("3/8", "9/8"), "'9/8'", "1/4, 5/16, 3/8"),
    (_CHARGE.replace("40ft", "900ft"), "line length", "0 to 150 m"),
    (_CHARGE.replace("15ft", "900ft"), "covered length", "0 to 150 m"),
    (f"{_CHARGE} --adder 0oz/ft", "adder", "above zero"),
    (_AIR.replace("63F", "80F"), "wet bulb", "46 to 75.0 F"),
    (_AIR.replace("63F", "20F"), "wet bulb", "46 to 75.0 F"),
    (_AIR.replace("75F", "300F"), "dry bulb", "250 to 340 K"),
    (f"{_AIR} --airflow 0cfm", "airflow", "above zero"),
    (f"{_AIR} --altitude 35000ft", "barometric pressure", "50000 to 110000 Pa"),
]


def refuse(line: str) -> int:
    parser = argparse.ArgumentParser(prog="fieldvoice")
    add_parser(parser.add_subparsers(dest="command"))
    return run(parser.parse_args(["work-out", *shlex.split(line)]))


@pytest.mark.parametrize(_COLUMNS, REFUSED, ids=[line for line, _, _ in REFUSED])
def test_the_error_names_the_input_and_what_is_permitted(
    line: str, names: str, permitted: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert refuse(line) == 2
    error = capsys.readouterr().err
    assert names in error
    assert permitted in error


@pytest.mark.parametrize(
    "calculation", [c.name for c in CALCULATIONS if c.name != "criteria"]  # which takes no input
)
def test_every_calculation_refuses_something(calculation: str) -> None:
    assert any(line.split()[0] == calculation for line, _, _ in REFUSED)
