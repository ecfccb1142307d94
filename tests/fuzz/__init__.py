"""Whatever a stranger's program may send: `uv run python -m tests.fuzz` sends it to every address,
as everybody, and prints what was answered as a fault of ours."""
