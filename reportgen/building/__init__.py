"""Build the reports of trials, and of an unchanged trial none."""
