"""The job: procedures, the job sheet, and the decisions of the assistant."""
