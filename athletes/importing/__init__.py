"""Children from a file: bytes -> table -> rows -> the fate of each, and only then the database."""
