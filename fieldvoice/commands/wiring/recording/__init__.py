"""A recording made on site, heard afterwards into a job's log."""
