"""What an operator meets in the first year, made to happen: `uv run python -m tests.faults` kills,
cuts and breaks a program of its own and prints what it finds. Everything listens on 127.0.0.1 and
ends by itself."""
