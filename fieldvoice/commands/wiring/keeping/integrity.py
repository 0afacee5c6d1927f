"""What a report says of the record: whether it is as it was written."""

from __future__ import annotations

from fieldvoice.devices.joblog import Verified
from fieldvoice.review.report import Integrity

_MOST = 12  # faults that a report names one by one
_SEALED = {"sealed": "sealed when work stopped", "never": "never sealed",
           "unsealed-tail": "not sealed since work went on after the last stop"}


def integrity(checked: Verified) -> Integrity:
    """The statement, last hash and faults of a checked job."""
    named = [f"{fault.where}: {fault.what}" for fault in checked.faults[:_MOST]]
    if len(checked.faults) > _MOST:
        more = len(checked.faults) - _MOST
        named.append(f"and {more:,} more; `fieldvoice log verify` lists them")
    if not checked.intact:
        statement = f"not as it was written: {'; '.join(named)}"
    else:
        lines = ("its one line proves itself" if checked.lines == 1 else
                 f"each of the {checked.lines:,} lines proves itself and the line before it")
        notes = "".join(f"; {note}" for note in checked.notes)
        statement = (f"intact: {lines}; {_SEALED[checked.sealed]}{notes}; "
                     f"the hash of the last is {checked.head}")
    return Integrity(checked.intact, statement, checked.head, checked.faults)
