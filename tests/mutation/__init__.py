"""Changes of one place in the sources, and which tests notice them.  Never part of the tests: see `python -m tests.mutation -h`."""
