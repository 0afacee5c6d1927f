"""The report answers what was done, when, with which values, and who said so."""

import re
from datetime import timedelta, timezone
from html import escape
from html.parser import HTMLParser

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from msgspec.structs import replace

from fieldvoice.jobstate import events as e
from fieldvoice.jobstate.events import Entry
from fieldvoice.review import figures
from fieldvoice.review.logged_job import read_job
from fieldvoice.review.report import Integrity
from fieldvoice.review.report.policy import play_script
from support.bench import Bench
from support.review_job import PROCEDURE, Book, page_of, started, whole_job

VOID = {"meta", "br", "line", "rect", "circle", "polyline"}


def leads_away(name: str, value: str) -> bool:
    """Whether an attribute leads out of the page: the contents lead within it."""
    return name in ("src", "href", "data-sound") and not value.startswith("#")


class Outline(HTMLParser):
    """Checks that tags close in order; keeps attributes and the text under each tag."""

    def __init__(self, page: str) -> None:
        super().__init__()
        self.open: list[str] = []
        self.attributes: list[tuple[str, str, str]] = []
        self.tags: list[str] = []
        self.text = ""
        self.scripts: list[str] = []
        self.feed(page)
        self.close()
        assert not self.open, f"never closed: {self.open}"

    def handle_starttag(self, tag, attrs):
        self.tags.append(tag)
        self.attributes += [(tag, name, value or "") for name, value in attrs]
        if tag not in VOID:
            self.open.append(tag)

    def handle_startendtag(self, tag, attrs):
        self.tags.append(tag)
        self.attributes += [(tag, name, value or "") for name, value in attrs]

    def handle_endtag(self, tag):
        assert self.open, f"</{tag}> closes nothing"
        assert self.open.pop() == tag

    def handle_data(self, data):
        if "script" in self.open:
            self.scripts.append(data)
        elif "style" not in self.open:
            self.text += data


@pytest.fixture(scope="module")
def page() -> str:
    return page_of(whole_job(), integrity=Integrity(True, "all 64 hashes match"))


@pytest.fixture(scope="module")
def outline(page) -> Outline:
    return Outline(page)


FOUND = [
    "Unit 12 <b>", "Evacuation of a line set", "Miller & Daughter", "14 May 2026", "Handed over",
    "Standing vacuum: tight", "Nitrogen test", "Bubble every joint.",
    "412 microns", "310 microns", "forty one twenty", "correction four twelve", "93% sure", "typed",
    "tested yesterday", "Oil <milky>", "Never oxygen: dry nitrogen only.", "pump", "30:00",
    "hold of isolate and hold", "finished", "minute 5.0", "equipment instructions", "400 microns",
    "all 64 hashes match", "take that back", "2.16 L",
    "shapes of rise: leak-testing pressure-increase method", "common practice (equipment",
    "Resumed",
]  # fmt: skip


@pytest.mark.parametrize("words", FOUND)
def test_the_report_shows(outline, words):
    assert words in outline.text


def test_every_reading_stands_with_its_time_and_value(outline):
    for entry in whole_job():
        if isinstance(entry.event, e.ReadingTaken):
            assert f"{entry.at:%H:%M:%S}" in outline.text
            assert f"{int(entry.event.value):,} microns" in outline.text


def test_old_values_are_struck_and_new_ones_are_not(page):
    assert "<s>4,120 microns</s>" in page
    assert "<s>37 microns</s>" in page
    assert "<b>412 microns</b>" in page
    assert "<s>412 microns</s>" not in page
    assert "<b>37 microns</b>" not in page


def test_withdrawn_readings_do_not_count_for_the_deepest_vacuum(page):
    assert "<dt>Deepest vacuum</dt><dd>310 microns</dd>" in page


def test_the_glance_counts_steps_and_corrections(outline):
    assert re.search(r"Steps done\s*1?\s*2\s*1 left open", outline.text)
    assert "1 corrected, 1 withdrawn" in outline.text


def test_every_line_is_linked_to_its_sound_in_the_jobs_folder(outline):
    linked = {v for tag, name, v in outline.attributes if name == "data-sound"}
    assert all(tag == "button" for tag, name, _ in outline.attributes if name == "data-sound")
    clips = {
        entry.event.clip for entry in whole_job()
        if isinstance(entry.event, e.LineHeard) and entry.event.clip and entry.event.words != "note"
    }
    assert clips - linked <= {""}
    assert "clips/note.wav" in linked


def test_clips_are_named_but_not_linked_when_the_page_lies_elsewhere():
    outline = Outline(page_of(whole_job(), clips_at=None))
    assert "button" not in outline.tags
    assert "sound not here: clips/note.wav" in outline.text


@pytest.mark.parametrize("clip", ["../../secret.wav", "/etc/sound.wav", "javascript:alert(1)"])
def test_a_clip_outside_the_jobs_folder_is_never_linked(clip):
    book = Book()
    book.add(started())
    book.open("evacuation", "pull-down")
    book.read("vacuum", "412", "microns", "four twelve", clip=clip)
    outline = Outline(page_of(book.entries))
    assert clip in outline.text
    assert not [v for _, name, v in outline.attributes if leads_away(name, v)]


def test_the_page_needs_nothing_from_elsewhere(page, outline):
    assert not {"link", "iframe", "img", "object"} & set(outline.tags)
    assert outline.scripts == [play_script()]
    for _, name, value in outline.attributes:
        if leads_away(name, value):
            assert value.startswith("clips/")
    assert "url(" not in page
    assert "@import" not in page


@settings(deadline=None)  # the first page made loads what all of them need
@given(st.text(max_size=40))
def test_words_from_the_log_never_become_markup(words):
    book = Book()
    book.add(replace(started(site=words), job=words))
    book.open(words, words)
    book.read("vacuum", "412", "microns", words)
    book.add(e.StepSkipped(words, words, book.heard(words, source="typed")))
    book.add(e.VerdictGiven("decay", words, {"reason": words, words: words}, words))
    book.add(e.NoteTaken(words, []))
    plain = Book()
    plain.add(replace(started(site="x"), job="x"))
    plain.open("x", "x")
    plain.read("vacuum", "412", "microns", "x")
    plain.add(e.StepSkipped("x", "x", plain.heard("x", source="typed")))
    plain.add(e.VerdictGiven("decay", "x", {"reason": "x", "x": "x"}, "x"))
    plain.add(e.NoteTaken("x", []))
    allowed = set(Outline(page_of(plain.entries)).tags) | {"q", "s"}
    assert set(Outline(page_of(book.entries)).tags) <= allowed


HOSTILE = """"'><script>alert('&amp;')</script><img src=x onerror=alert(1)>{{ 7 * 7 }}"""


def hostile_job() -> list[Entry]:
    """A log made elsewhere that puts markup wherever it can."""
    book = Book()
    book.add(e.JobStarted(HOSTILE, HOSTILE, HOSTILE, HOSTILE, {HOSTILE: HOSTILE, "place": HOSTILE}))
    book.open(HOSTILE, "isolate-and-hold")
    line = book.heard(HOSTILE, source=HOSTILE, clip=HOSTILE)
    book.add(e.CautionAcknowledged("isolate-and-hold", HOSTILE, line))
    step = "isolate-and-hold"
    taken = book.add(e.ReadingTaken(HOSTILE, "412", HOSTILE, 54.9, HOSTILE, step, line))
    book.add(e.ReadingCorrected(taken, HOSTILE, HOSTILE, 54.9, HOSTILE, line))
    began = book.read("vacuum", "412", "microns", HOSTILE, clip="clips/" + HOSTILE)
    book.add(e.Withdrawn(began, line))
    book.read("vacuum", "310", "microns", HOSTILE)
    book.add(e.TimerStarted(HOSTILE, 60.0, book.at.isoformat(), False, line))
    book.add(e.TimerStarted("hold", 60.0, (book.at + timedelta(minutes=1)).isoformat(), True, line))
    book.add(e.TimerFinished("hold"), 60)
    figures_of = {HOSTILE: HOSTILE, "reason": HOSTILE, "limits": {HOSTILE: [HOSTILE]}}
    book.add(e.VerdictGiven("decay", HOSTILE, figures_of, "isolate-and-hold", line))
    book.add(e.VerdictGiven(HOSTILE, HOSTILE, figures_of, "isolate-and-hold", line))
    book.add(e.BranchTaken("isolate-and-hold", HOSTILE, HOSTILE, HOSTILE, line))
    book.add(e.NoteTaken(HOSTILE, [HOSTILE, "clips/" + HOSTILE], line))
    book.add(e.StepSkipped("isolate-and-hold", HOSTILE, line))
    book.open(HOSTILE, HOSTILE)
    book.add(e.JobFinished(HOSTILE))
    return book.entries


@pytest.mark.parametrize("clips_at", ["", "file:///jobs/a/", None])
def test_markup_anywhere_in_a_log_or_a_procedure_is_shown_as_text(clips_at):
    words = HOSTILE.replace('"', "'")  # a procedure's texts stand between double quotes
    procedure = PROCEDURE.replace("Evacuation of a line set", words).replace(
        "Never oxygen", words).replace("common practice", words).replace("Isolate and", words)
    assert not read_job([], procedure).fault
    for text in (procedure, "no procedure: " + HOSTILE):
        page = page_of(hostile_job(), text, clips_at=clips_at, integrity=Integrity(True, HOSTILE))
        outline = Outline(page)
        assert "img" not in outline.tags
        assert outline.scripts == [play_script()]
        assert not [name for _, name, _ in outline.attributes if name.startswith("on")]
        for _, name, value in outline.attributes:
            if leads_away(name, value):  # a clip's path, percent-encoded
                assert value.startswith(str(clips_at))
                assert not set("<>\"' {") & set(value)
        assert outline.text.count("<script>alert('&amp;')</script>") > 40
        assert "{{ 7 * 7 }}" in outline.text
    drawn = page[page.index("<svg"):page.index("</svg>")]
    assert "&lt;script&gt;" in drawn  # the verdict, beside its hold


def test_a_hostile_job_name_is_shown_as_text(page):
    assert escape("Unit 12 <b>") in page
    assert "Unit 12 <b>" not in page


def test_an_unreadable_procedure_is_reported_and_steps_keep_their_names():
    text = Outline(page_of(whole_job(), "procedure ???")).text
    assert "cannot be read: line 1, column" in text
    assert "Pull down" in text


def test_an_unchecked_log_says_so_and_a_broken_one_is_marked():
    assert "not checked" in Outline(page_of(whole_job())).text
    broken = page_of(whole_job(), integrity=Integrity(False, "line 7 was changed"))
    assert '<span class="bad">line 7 was changed</span>' in broken


def test_an_empty_log_and_an_open_job_give_a_report():
    assert "no events" in Outline(page_of([])).text
    entries = whole_job()[:8]
    text = Outline(page_of(entries)).text
    assert "Not closed" in text
    assert "Open when the log ends." in text


def test_times_are_shown_in_the_zone_asked_for():
    zone = timezone(timedelta(hours=-5))
    text = Outline(page_of(whole_job(), zone=zone)).text
    assert "09:02" in text
    assert "UTC-05:00" in text


def test_the_last_reading_outside_its_limit_is_marked_and_those_before_are_not():
    book = Book()
    book.add(started())
    book.open("evacuation", "pull-down")
    book.read("vacuum", "900", "microns", "nine hundred", within=False)
    book.read("vacuum", "600", "microns", "six hundred", within=False)
    page = page_of(book.entries)
    assert page.count("✗ outside limit") == 1
    assert page.count("not yet") == 1


def test_a_step_taken_back_is_not_done():
    book = Book()
    book.add(started())
    book.open("evacuation", "pull-down")
    done = book.add(e.StepDone("pull-down", book.heard("done")))
    book.add(e.Withdrawn(done, book.heard("take that back")))
    text = Outline(page_of(book.entries)).text
    assert "Taken back." in text
    assert re.search(r"Steps done\s*0", text)


def test_a_step_is_shown_with_the_values_that_were_filled_in_at_the_time(outline):
    assert "Run the pump down to 400 microns." in outline.text
    assert "{limit" not in outline.text
    assert "Run the pump down to …." in Outline(page_of(without_prompts())).text


def without_prompts() -> list[Entry]:
    return [x for x in whole_job() if not isinstance(x.event, e.Said)]


def test_only_limits_of_steps_worked_on_are_listed(outline):
    assert "Decay limit" in outline.text
    assert "of a step never worked on" not in outline.text


def test_one_line_is_quoted_once_in_a_step():
    book = Book()
    book.add(started())
    book.open("evacuation", "pull-down")
    book.read("vacuum", "310", "microns", "three ten")
    book.add(e.StepDone("pull-down", len(book.entries) - 1))
    page = page_of(book.entries)
    assert page.count("<q>three ten</q>") == 1


def test_a_second_visit_is_told_from_the_first():
    book = Book()
    book.add(started())
    book.open("evacuation", "pull-down")
    book.open("evacuation", "isolate-and-hold")
    book.open("evacuation", "pull-down", 2)
    text = Outline(page_of(book.entries)).text
    assert "Pull down (visit 2)" in text


def test_events_that_point_at_nothing_are_left_out():
    entries = [
        Entry(1, Book().at, e.ReadingCorrected(99, "5", "microns", 0.7, "Pa", 98)),
        Entry(2, Book().at, e.Withdrawn(77)),
        Entry(3, Book().at, e.StepDone("nowhere", 5)),
        Entry(4, Book().at, e.TimerFinished("nothing")),
    ]
    assert "4 events" in Outline(page_of(entries)).text


FIGURES = [
    # name, value, label, text; factors by NIST SP 811 B.8
    ("final_pa", 66.6612, "Final", "500 microns (66.66 Pa)"),
    ("start_pa", 3_203_967.0, "Start", "450 psig (3,204 kPa absolute)"),
    ("deviation_pa", -6894.757, "Deviation", "-1 psi (-6.895 kPa)"),
    ("line_k", 285.372, "Line", "54.0 °F (12.2 °C)"),
    ("difference_k", 5.0, "Difference", "9 °F (5 K)"),
    ("water_temperature_c", -24.48, "Water temperature", "-12.1 °F (-24.5 °C)"),
    ("change_kg", 0.1701, "Change", "6 oz (0.1701 kg)"),
    ("adder_kg_per_m", 0.055806, "Adder", "0.6 oz/ft (55.81 g/m)"),
    ("length_m", 7.62, "Length", "25 ft (7.62 m)"),
    ("volume_m3", 0.00216, "Volume", "2.16 L"),
    ("rise_rate_pa_per_min", 1.3332, "Rise rate", "10 microns a minute"),
    ("leak_rate_pa_m3_per_s", 2.22e-5, "Leak rate", "2.22e-05 Pa·m³/s"),
    ("nitrogen_kg_per_year", 0.2835, "Nitrogen", "10 oz a year (0.2835 kg)"),
    ("minutes_more", 5.0, "Minutes more", "5"),
    ("low_minutes", 3.5, "Low", "3.5 min"),
    ("confidence", 0.9999, "Confidence", "over 99.9%"),
    ("confidence", 0.87, "Confidence", "87%"),
    ("stalled", True, "Stalled", "yes"),
    ("source", "40 CFR 1065.644", "Source", "40 CFR 1065.644"),
]


@pytest.mark.parametrize(("name", "value", "label", "text"), FIGURES)
def test_figures_are_shown_in_the_units_of_the_trade(name, value, label, text):
    assert figures.rows({name: value}) == [(label, text)]


def test_nested_figures_are_flattened_and_empty_ones_left_out():
    found = figures.rows({
        "chances": {"tight": 0.9, "wet": 0.1},
        "limits": {"name": "500 microns, 10 minutes", "hold_minutes": 10.0},
        "readings": [{"minutes": 0.0, "pressure_pa": 41.33}, {"minutes": 1.0, "pressure_pa": 44.0}],
        "volume_m3": None, "outliers": [], "reason": "not a figure",
    })  # fmt: skip
    assert found == [
        ("Chances", "tight 90%, wet 10%"),
        ("Limits: name", "500 microns, 10 minutes"),
        ("Limits: hold", "10 min"),
        ("Readings", "0 min 310 microns, 1 min 330 microns"),
    ]


def test_what_is_not_known_of_a_reading_is_left_out_of_it() -> None:
    known = {"minutes": 0.0, "pressure_pa": 41.33}
    assert figures.rows({"readings": [{**known, "step_pa": None}]}) == [
        ("Readings", "0 min 310 microns")]


def test_figures_of_one_name_say_what_they_measure_and_nothing_is_told_twice() -> None:
    found = figures.rows({"start_pa": 3_169_000.0, "start_k": 297.04, "thermometer_k": 0.5,
                          "change_kg": 0.2892, "change_oz": 10.2, "end_k": 296.0})
    assert [label for label, _ in found] == [
        "Start pressure", "Start temperature", "Thermometer", "Change", "End"]
    assert dict(found)["Thermometer"] == "0.9 °F (0.5 K)"  # a difference has no zero


def test_the_limits_in_force_are_those_of_conditions_checks_timers_and_the_plate_too() -> None:
    text = """\
procedure p "P"
limit watch = 10 min source "the fire brigade"
limit target = 10 delta-degF source "the nameplate"
limit warm = 35 degF source "the weather service"
limit full = 150 psig then full-stage of design-pressure source "the plate"
stage one "One"
step plate say "Plate." read design-pressure timer watch "fire watch"
step outdoor say "Outdoor." read outdoor-temperature read liquid-pressure read liquid-temperature
step cold only when outdoor-temperature at least warm
  say "Raise." read nitrogen-pressure at most full
step judge say "Judge." read liquid-pressure read liquid-temperature check subcooling target
  on on-target go to last on high go to last on low go to last on not-known go to last
step last say "Done." end done
"""
    bench = Bench(text, {"refrigerant": "R-410A"})
    for value, unit, quantity in (
        (300, "psig", "design-pressure"), (80, "degF", "outdoor-temperature"),
        (355, "psig", "liquid-pressure"), (98, "degF", "liquid-temperature"),
        (290, "psig", "nitrogen-pressure"), (355, "psig", "liquid-pressure"),
        (98, "degF", "liquid-temperature"),
    ):
        bench.read(value, unit, quantity)
    page = page_of(bench.log, text)
    shown = page[page.index("Limits in force"):]
    for source in ("fire brigade", "nameplate", "weather service", "full stage of the design"):
        assert source in shown
    assert "300 psig" in shown
    assert "150 psig" not in shown


def test_facts_told_on_the_job_stand_in_the_header_with_when_and_how():
    book = Book()
    book.add(started(customer="Miller & Daughter", refrigerant="R-22"))
    book.open("evacuation", "pull-down")
    book.add(e.FactTold("refrigerant", "R-32", book.heard("refrigerant R-32", source="typed")))
    spoken = book.heard("[unk] [unk]", clip="clips/name.wav")
    book.add(e.FactTold("technician", "kept as sound", spoken))
    book.add(e.FactTold("altitude", "5280 ft"))
    page = page_of(book.entries)
    top = page[page.index("<header>"):page.index("</header>")] + "</header>"
    header = Outline(top).text
    assert "Miller & Daughter" in header
    assert re.search(r"R-32 \(told \d\d:\d\d:\d\d, typed\)", header)
    assert "R-22" not in header
    assert re.search(r"5280 ft \(told \d\d:\d\d:\d\d, when work went on\)", header)
    assert "clips/name.wav" in top
    assert "told: refrigerant R-32" in Outline(page).text


def test_an_input_without_a_unit_or_note_prints_nothing_in_its_place():
    shown = figures.rows({"readings": [{"minutes": 1.25, "pressure_pa": 39.2, "spread": None}]})
    assert shown == [("Readings", "1.25 min 294 microns")]
