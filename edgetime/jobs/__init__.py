"""Lists of jobs, read alike for what waits for a shift and for what is to come."""

from edgetime.jobs.job import COLUMNS, Job, Wrong, named_by_row, naming_the_row, read_jobs

__all__ = ["COLUMNS", "Job", "Wrong", "named_by_row", "naming_the_row", "read_jobs"]
