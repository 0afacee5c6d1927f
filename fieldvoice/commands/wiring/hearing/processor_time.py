"""How much of the processor a thread has had: one that is slow is not one that stands still."""

from __future__ import annotations

import sys
import threading
import time


def processor_s(thread: threading.Thread | None) -> float | None:
    """Seconds of processor time that a thread has used; None where the system does not tell.

    Linux numbers the clock of a thread by the thread (include/linux/posix-timers.h), and refuses
    that of one that has ended; pthread_getcpuclockid may crash there.
    """
    if sys.platform != "linux" or thread is None or thread.native_id is None:
        return None
    try:
        return time.clock_gettime((~thread.native_id << 3) | 6)
    except (OSError, OverflowError):
        return None
