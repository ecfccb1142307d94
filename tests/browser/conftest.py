import os

# Playwright drives the browser from an event loop of its own; the ORM, called between its steps
# from the same thread, is not in anybody's way there.
os.environ.setdefault("DJANGO_ALLOW_ASYNC_UNSAFE", "true")
