"""Why a line gives no intent: label -> what is said back. Each says what to say instead."""

from __future__ import annotations

Refusal = tuple[str, str]  # kind, reason

# The rules of grammar/commands.lark that are heard in order to be asked back.
REFUSALS: dict[str, Refusal] = {
    "asked_two_ways": (
        "two-ways",
        "Is that {doubt}? Say it in other words.",
    ),
    "asked_range": ("range", "That is a range. Say the one number that you read."),
    "asked_about": ("about", "Say the number that you read, without about."),
    "asked_which": ("which", "Which number is which? Say the name, then its number."),
    "asked_half": ("half", "Something is missing. Say the number or the time too."),
    "asked_time": ("half", "What is the time for? Say hold or timer with it."),
    "asked_okay": ("okay", "Say next when the step is done, or say yes, no or understood."),
    "asked_unit_number": (
        "two-ways",
        "Where does the unit's number end? Say the unit by itself first, then the rest.",
    ),
    "asked_two_units": ("several", "One unit at a time. Say the first one, then the other."),
    "asked_take_back": ("taught", "Say take that back."),
    "asked_next": ("taught", "Say next when the step is done."),
    "asked_help": ("taught", "Say help."),
    "asked_stand_by": ("taught", "Say stand by."),
    "asked_carry_on": ("taught-carry-on", "Say carry on."),
    "asked_voice": ("taught", "Say louder, softer, slower, faster, or voice on."),
    "asked_hundred": ("half", "How many hundred? Say the whole number, such as one hundred."),
    "asked_clock": ("clock", "That is a time of day. Say how long instead, such as ten minutes."),
    "asked_leave": (
        "leave",
        "To stop for now press Ctrl C: the job goes on later. To close it say finish the job.",
    ),
}
EMPTY: Refusal = ("empty", "I heard nothing. Say help to hear what can be said.")
TOO_LONG: Refusal = ("long", "That is too long. Say one thing at a time.")
UNKNOWN: Refusal = ("unknown", "I did not understand. Say help to hear what can be said.")
DECIMAL_COMMA: Refusal = ("decimal-comma", "Say or write a point: 12.5. A comma parts thousands.")
UNKNOWN_WORD: Refusal = ("unknown", "I do not know {piece}. Say help to hear what can be said.")
HALF: Refusal = ("half", "I heard only half of that. Say it again in full.")
NOTE_OR_COMMAND: Refusal = (
    "two-ways",
    "Is that a note? Write note and a colon before it, or say it without note.",
)
SAME_TWICE: Refusal = ("which", "One {quantity} at a time. Say the one number that counts.")
TWO_INTENTS: Refusal = ("two-ways", "That can mean two things. Say it in other words.")
NO_TIME: Refusal = ("time", "A time must be longer than nothing. Say it again.")
NO_UNIT: Refusal = ("half", "Units are numbered one to ninety nine. Say unit two, for example.")
