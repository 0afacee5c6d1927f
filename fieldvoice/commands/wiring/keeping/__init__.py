"""What keeps a job going: its time, and its log when that cannot be written."""
