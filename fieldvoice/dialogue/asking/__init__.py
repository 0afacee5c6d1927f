"""Open questions: how each kind is put, what answers it, and what waits for the technician."""
