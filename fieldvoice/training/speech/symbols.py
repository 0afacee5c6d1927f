"""ARPAbet in the symbols of the Kokoro synthesizer, and the voices kept out of training."""

from __future__ import annotations

HELD_OUT = {"af_sky", "am_liam", "bm_lewis", "bf_lily"}  # voices kept for tests and the demo

# ARPAbet to the phone symbols that the Kokoro model was trained with (its published table).
KOKORO_PHONES = {
    "AA": "ɑ", "AE": "æ", "AH": "ʌ", "AO": "ɔ", "AW": "W", "AY": "I", "EH": "ɛ", "ER": "ɜɹ",
    "EY": "A", "IH": "ɪ", "IY": "i", "OW": "O", "OY": "Y", "UH": "ʊ", "UW": "u", "B": "b",
    "CH": "ʧ", "D": "d", "DH": "ð", "F": "f", "G": "ɡ", "HH": "h", "JH": "ʤ", "K": "k", "L": "l",
    "M": "m", "N": "n", "NG": "ŋ", "P": "p", "R": "ɹ", "S": "s", "SH": "ʃ", "T": "t", "TH": "θ",
    "V": "v", "W": "w", "Y": "j", "Z": "z", "ZH": "ʒ",
}  # fmt: skip
WEAK = {"AH": "ə", "ER": "əɹ"}  # without stress


def kokoro_symbols(phones: list[list[str]]) -> str:
    """Pronunciations in Kokoro's symbols, stress before the vowel, a space between words."""

    def one(phone: str) -> str:
        base, stress = phone.rstrip("012"), phone[-1]
        symbol = WEAK.get(base, KOKORO_PHONES[base]) if stress == "0" else KOKORO_PHONES[base]
        return {"1": "ˈ", "2": "ˌ"}.get(stress, "") + symbol

    return " ".join("".join(one(p) for p in word) for word in phones)
