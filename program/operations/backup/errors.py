"""What went wrong, in a sentence for whoever runs Fledge."""


class BackupError(Exception):
    """The message says what is wrong, and what that leaves as it was."""


class Damaged(BackupError):
    """The archive is not what was once written."""
