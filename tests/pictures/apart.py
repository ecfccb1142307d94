"""Imported before anything reads the environment: nothing of whoever takes the pictures is in them,
written to or mailed."""

import os

for name in ("DATABASE_URL", "DATABASE_OWNER_URL", "FLEDGE_UPLOADS_DIR", "MAIL_HOST", "TIME_ZONE"):
    os.environ.pop(name, None)
os.environ |= {
    "DEMO": "1",
    "DEBUG": "0",
    "DJANGO_SETTINGS_MODULE": "program.config.settings",
    "DJANGO_ALLOW_ASYNC_UNSAFE": "1",  # Playwright runs a loop in the thread that asks
}
