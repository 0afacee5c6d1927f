"""The claims that fuzzing tries to break hold for its seeds, and for what once broke them."""

import pytest

from fieldvoice.procedure.reader import shipped_names
from support.fuzz_claims import job_seeds, line_seeds, understand_line, work_a_job

MENDED = [
    # a reason of four thousand characters, with control characters, was kept and read out
    b"\x04\nhdoesn't apply\nhtwenty" + b"\x00" * 4000,
]


def test_every_phrase_keeps_the_claims_of_a_line():
    for seed in line_seeds():
        understand_line(seed)


@pytest.mark.parametrize(
    "line",
    [b"", b"\xff\xfe\x80", b"\xed\xa0\x80", "четыреста микрон".encode(), b"4" * 10_000,
     b"four " * 2_000, b"\x1b[31m412\x07", "\u202e412 \u200bum".encode(), b"\x00",
     b"skip because cannot get to it"],
)  # fmt: skip
def test_any_bytes_keep_the_claims_of_a_line(line):
    understand_line(line)


@pytest.mark.parametrize("number", range(len(shipped_names())))
def test_any_conversation_keeps_its_claims(number):
    for seed in list(job_seeds())[number :: len(shipped_names()) * 12]:
        work_a_job(seed)


@pytest.mark.parametrize("conversation", MENDED)
def test_what_once_broke_a_claim_keeps_it(conversation):
    work_a_job(conversation)
