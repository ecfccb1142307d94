"""What a release is made of: its parts with their hashes, their licences, their known weaknesses.

`uv run python -m tests.release FOLDER` writes the papers of a release into FOLDER.
"""
