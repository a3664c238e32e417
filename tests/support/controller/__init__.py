"""Running programs on a real motion controller, to compare the time they take."""
