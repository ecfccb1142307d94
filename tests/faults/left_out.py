class LeftOut(Exception):
    """A fault that cannot be made to happen here; the message says why."""
