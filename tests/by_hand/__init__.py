"""What is run by hand: benchmarks and fuzzing; no test."""
