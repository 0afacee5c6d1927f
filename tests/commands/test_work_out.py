"""`fieldvoice work-out` from its words to its output and exit code."""

from __future__ import annotations

import argparse
import json
import re
import shlex
from pathlib import Path
from typing import Any

import pytest

from fieldvoice.commands.work_out import CALCULATIONS, add_parser, run

EXAMPLES = [
    example for c in CALCULATIONS for example in c.examples if "readings.csv" not in example
]


def work_out(line: str) -> int:
    parser = argparse.ArgumentParser(prog="fieldvoice")
    add_parser(parser.add_subparsers(dest="command"))
    return run(parser.parse_args(shlex.split(line)))


def plain(line: str, capsys: pytest.CaptureFixture[str]) -> dict[str, Any]:
    assert work_out(f"{line} --json") == 0
    found: dict[str, Any] = json.loads(capsys.readouterr().out)
    return found


@pytest.mark.parametrize("example", EXAMPLES)
def test_every_example_in_the_help_works(
    example: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert work_out(example.removeprefix("fieldvoice ")) == 0
    assert capsys.readouterr().out.strip()


@pytest.mark.parametrize("example", EXAMPLES)
def test_every_answer_in_json_carries_what_was_entered_and_a_source(
    example: str, capsys: pytest.CaptureFixture[str]
) -> None:
    found = plain(example.removeprefix("fieldvoice "), capsys)
    assert found["calculation"] in example
    assert found["source"]
    written = [v for value in found["entered"].values()
               for v in (value if isinstance(value, list) else [value])]
    typed = [word for word in shlex.split(example)[3:] if not word.startswith("--")]
    assert set(typed) <= {str(value) for value in written}


# ending of a name -> it has a unit; a name alone in the second line is a count or a share
UNITS = ("_pa", "_k", "_c", "_f", "_m", "_m3", "_m3_per_s", "_kg", "_kg_per_m", "_kg_m3", "_oz",
         "_w", "_s", "_pa_per_min", "_pa_per_hour", "_mol_per_s", "_l_per_s", "_j_per_kg",
         "_m3_per_kg", "_kg_per_year", "pa_m3_per_s", "mol_per_s", "minutes", "_minutes",
         "minutes_more", "seconds")
NO_UNIT = ("confidence", "chances", "sure_at", "chance_of_reaching", "gauge_noise_fraction",
           "outliers", "times_longer", "cores", "share_left", "share_frozen_at_most",
           "relative_humidity", "humidity_ratio", "minutes_to_target", "forgiven")


def numbers(value: Any, name: str = "") -> list[str]:
    """Names of all numbers in plain data; those in a list go by the list's name."""
    if isinstance(value, dict):
        inside = [numbers(item, name if name == "chances" else key) for key, item in value.items()]
        return [found for part in inside for found in part]
    if isinstance(value, list):
        if len(value) == 2 and isinstance(value[0], str):  # a pair: name and value
            return numbers(value[1], f"{name} {value[0]}" if not name.endswith(UNITS) else name)
        return [found for item in value for found in numbers(item, name)]
    return [name] if isinstance(value, int | float) and not isinstance(value, bool) else []


@pytest.mark.parametrize("example", EXAMPLES)
def test_the_name_of_every_number_in_json_ends_in_its_unit(
    example: str, capsys: pytest.CaptureFixture[str]
) -> None:
    found = plain(example.removeprefix("fieldvoice "), capsys)
    del found["entered"]
    bare = [n for n in numbers(found) if not n.endswith(UNITS) and n not in NO_UNIT]
    assert bare == []


def test_water_in_json_keeps_the_temperature_that_the_pressure_means(
    capsys: pytest.CaptureFixture[str]
) -> None:
    found = plain("work-out water --at 500um --mass 5g --temperature 60F", capsys)
    # ice at 500 microns: -24.48 C (IAPWS R14-08)
    assert found["temperature_k"] - 273.15 == pytest.approx(-24.48, abs=0.01)
    assert found["load"]["temperature_k"] == pytest.approx(288.706, abs=0.001)


def test_the_words_of_a_nitrogen_test_keep_to_the_altitude(
    capsys: pytest.CaptureFixture[str]
) -> None:
    assert work_out("work-out nitrogen --start 450psig --start-temperature 70F --end 450psig "
                    "--end-temperature 70F --time 60min --altitude 5000ft") == 0
    assert "Expected 450.0 psig at 70 °F, read 450.0" in capsys.readouterr().out


@pytest.mark.parametrize(
    ("more", "said"),
    # 2.1238 psi may be gauge and thermometer (worked out in tests/trade/test_nitrogen.py)
    [("--end 447psig", "losing pressure"), ("--end 449psig", "not-yet-clear"),
     ("--end 450psig --hold 2h", "not-yet-clear"), ("--end 449psig --time 130min", "holds"),
     ("--end 449psig --criterion no-loss", "losing pressure"),
     ("--end 447psig --thermometer 3F", "not-yet-clear"),
     ("--end 449psig --resolution 0.1psi --thermometer 0.1F", "losing pressure")],
)
def test_a_visible_loss_of_nitrogen_is_not_passed(
    more: str, said: str, capsys: pytest.CaptureFixture[str]
) -> None:
    line = "work-out nitrogen --start 450psig --start-temperature 70F --end-temperature 70F"
    time = "" if "--time" in more else " --time 60min"
    assert plain(f"{line} {more}{time}", capsys)["verdict"] == said


def test_the_smallest_leak_of_a_nitrogen_test_is_told_as_mass_a_year(
    capsys: pytest.CaptureFixture[str]
) -> None:
    # 0.0147 Pa m3/s (tests/trade/test_nitrogen.py), 0.8245 psi standard uncertainty
    line = ("work-out nitrogen --start 450psig --start-temperature 70F --end 450psig "
            "--end-temperature 70F --time 60min --volume 2.2L --refrigerant R-410A")
    assert work_out(line) == 0
    text = capsys.readouterr().out
    assert "5.3 kg of nitrogen a year, 14 kg of R-410A" in text
    assert "uncertainty 0.82 psi, of a gauge step of 1 psi and temperatures within 1 °F" in text
    assert "95 times in 100: 1.5e-02 Pa m3/s" in text


@pytest.mark.parametrize(
    ("more", "said"),
    # R-410A at 118 psig: dew 39.8 F (CoolProp). A published installation guide: never below 5 F
    [("--line 41F --target 6F", "Low: "), ("--line 50F --target 6F", "Leave the charge"),
     ("--line 41F --metering valve", "Low: "), ("--line 50F --metering valve", "Leave the valve"),
     ("--line 70F --metering valve", "High: ")],
)
def test_superheat_below_the_floor_is_never_on_target(
    more: str, said: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert work_out(f"work-out superheat R-410A --at 118psig {more}") == 0
    assert said in capsys.readouterr().out


def test_the_gauge_that_is_entered_counts(capsys: pytest.CaptureFixture[str]) -> None:
    fine = plain("work-out decay 0:250 5:300 10:352 --resolution 1um --noise 0.2%", capsys)
    coarse = plain("work-out decay 0:250 5:300 10:352 --resolution 50um --noise 10%", capsys)
    assert fine["gauge_noise_fraction"] == pytest.approx(0.002)
    assert fine["model"] == "line"
    assert coarse["model"] == "flat"


@pytest.mark.parametrize("calculation", CALCULATIONS, ids=lambda c: c.name)
def test_every_help_shows_an_example(
    calculation: Any, capsys: pytest.CaptureFixture[str]
) -> None:
    with pytest.raises(SystemExit) as left:
        work_out(f"work-out {calculation.name} --help")
    assert left.value.code == 0
    assert calculation.examples[0] in capsys.readouterr().out


def test_nitrogen_by_the_gas_law(capsys: pytest.CaptureFixture[str]) -> None:
    # gas law, absolute: 450 psig at 80 F becomes 437.08 psig at 65 F
    found = plain("work-out nitrogen --start 450psig --start-temperature 80F "
                  "--end-temperature 65F", capsys)
    assert (found["ideal_pa"] - 101_325) / 6894.757 == pytest.approx(437.08, abs=0.01)


def test_published_subcooling(capsys: pytest.CaptureFixture[str]) -> None:
    # Johnson Controls CSV p. 63: 355 psig, line 95.0 F: 13.0 F
    found = plain("work-out subcooling R-410A --at 355psig --line 95F", capsys)
    assert found["difference_f"] == pytest.approx(13.0, abs=0.5)


def test_altitude_changes_gauge_pressures(capsys: pytest.CaptureFixture[str]) -> None:
    low = plain("work-out saturation R-410A --at 118psig", capsys)
    high = plain("work-out saturation R-410A --at 118psig --altitude 5000ft", capsys)
    # standard atmosphere at 5000 ft: 84.3 kPa (US Standard Atmosphere 1976, from memory)
    assert low["pressure_pa"] - high["pressure_pa"] == pytest.approx(17_000, abs=100)


def test_readings_come_from_a_file_too(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file = tmp_path / "readings.csv"
    file.write_text("minutes,microns\n0,250\n5,270\n\n10,280\n", encoding="utf-8")
    assert plain(f"work-out decay --file {file}", capsys)["verdict"] == "tight"


def test_a_forecast_out_of_sight_is_null_in_json(capsys: pytest.CaptureFixture[str]) -> None:
    readings = " ".join(f"{t}:{400 - t}" for t in range(8))
    assert plain(f"work-out pull {readings} --target 100um", capsys)["high_minutes"] is None
    out_of_reach = plain("work-out pull 0:900 1:800 2:700 --target 100um --blank-off 150um", capsys)
    assert out_of_reach["high_minutes"] is None
    assert out_of_reach["chance_of_reaching"] == 0.0


NUMBER = re.compile(r"(?<![\w/.-])\d+(\.\d+)?(?=[A-Za-z%])(?!-)")  # one with its unit
ASKS_FOR = {  # options that are read only where these are given too
    "decay": "--limit 500um --hold 10min",
    "nitrogen": "--end 436psig --time 60min",
}


def with_decimal_commas() -> list[str]:
    """Each value of the examples, and each option with a unit, written with a decimal comma."""
    lines = [
        example[:value.start()] + "4,4" + example[value.end():]
        for example in EXAMPLES for value in NUMBER.finditer(example)
    ]
    for calculation in CALCULATIONS:
        parser = argparse.ArgumentParser()
        calculation.arguments(parser)
        whole = f"{calculation.examples[0]} {ASKS_FOR.get(calculation.name, '')}"
        for option in parser._actions:
            value = NUMBER.match(str(option.metavar))
            if value and option.option_strings:
                unit = str(option.metavar)[value.end():]
                lines.append(f"{whole} {option.option_strings[0]} 4,4{unit}")
    return lines


@pytest.mark.parametrize("line", with_decimal_commas())
def test_a_decimal_comma_is_never_a_thousands_mark(
    line: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert work_out(line.removeprefix("fieldvoice ")) == 2
    assert "write decimals with a point" in capsys.readouterr().err


@pytest.mark.parametrize(
    "line",
    ["decay 0:250 2,5:262 5:270", "decay 0:250 2:26,2 5:270", "sweep 1,5torr 500um --break 0psig",
     "sweep 1500um 500um --break 0,5psig", "volume 3/8:7,5m", "volume 3/8:25ft --other 1,5L",
     "saturation R-410A --at 8,2barg --altitude 1500,5m"],
)
def test_nor_in_a_pair_or_a_list(line: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert work_out(f"work-out {line}") == 2
    assert "write decimals with a point" in capsys.readouterr().err


def test_a_count_takes_no_comma(capsys: pytest.CaptureFixture[str]) -> None:
    with pytest.raises(SystemExit) as left:
        work_out("work-out speed --pump 5cfm --bore 0.25in --length 5ft --at 500um --cores 1,5")
    assert left.value.code == 2
    assert "--cores" in capsys.readouterr().err


@pytest.mark.parametrize(
    "row", ["2,5,262", "2;262", "2,5;262", '"2,5",262', '2,"26,2"'],
)
def test_a_file_s_decimal_commas_are_refused_too(
    row: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    file = tmp_path / "readings.csv"
    file.write_text(f"minutes,microns\n0,250\n{row}\n5,270\n", encoding="utf-8")
    assert work_out(f"work-out decay --file {file}") == 2
    assert "reading 2" in capsys.readouterr().err


def test_thousands_marks_are_read(capsys: pytest.CaptureFixture[str]) -> None:
    found = plain("work-out water --at 1,250um", capsys)
    assert found["pressure_pa"] == pytest.approx(1250 * 0.133322387)  # NIST SP 811


@pytest.mark.parametrize(
    ("line", "message"),
    [
        ("decay 0:250 0:260 3:300", "times must grow"),
        ("decay 0-250", "no colon"),
        # a dial's hundredth of an inch is 254 microns
        ("decay 0:29.91inHgvac 5:29.91inHgvac 10:29.91inHgvac", "worth 254 microns"),
        ("decay 0:250 1:260psi 2:270", "psig or psia"),
        ("decay --file no-such-file.csv", "cannot be read"),
        ("decay 0:1 1:2 2:3 --limit 500um", "both --limit and --hold"),
        ("pull 1:900 2:800 --target 500um", "at least three"),
        ("superheat R-410A --at 118psi --line 50F", "psig or psia"),
        ("superheat R-9 --at 118psig --line 50F", "not known"),
        ("superheat R-32 --at 118psig --line 50F --target 9F --metering valve", "no target"),
        ("superheat R-410A --at 900psig --line 50F", "permitted range"),
        ("target-superheat --wet-bulb 60F --outdoor 95F", "no target superheat"),
        ("volume 9/16:3ft", "not known"),
        ("volume 3/8", "no colon"),
        ("charge R-32 --liquid 3/8 --length 40ft", "factory charge covers"),
        ("saturation R-32", "needs one of"),
        ("nitrogen --start 450psig --start-temperature 80F --end-temperature 65F --end 436psig",
         "time is missing"),
        ("stages --design 2psig", "design pressure"),
        ("sweep 500um 500um", "breaks"),
        ("water --at=-5um", "absolute zero"),
        ("speed --pump 0cfm --bore 0.25in --length 5ft --at 500um", "pump speed"),
    ],
)
def test_bad_input_goes_to_stderr_with_exit_code_2(
    line: str, message: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert work_out(f"work-out {line}") == 2
    captured = capsys.readouterr()
    assert message in captured.err
    assert captured.out == ""


def test_what_sweeps_leave_is_told_no_finer_than_a_gauge_can_know(
    capsys: pytest.CaptureFixture[str]
) -> None:
    """(1,500 * 1,500 * 500) / 760,000 ** 3 = 2.56e-9, one part in 390 million."""
    assert work_out("work-out sweep 1500um 1500um 500um --break 0psig --break 0psig") == 0
    assert "about one part in 390,000,000 of the first air" in capsys.readouterr().out
