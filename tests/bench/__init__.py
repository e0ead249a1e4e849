"""Benchmarks: ratios within one run, and budgets.  Never part of the tests: `python -m tests.bench` prints the table."""
