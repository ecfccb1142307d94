#!/usr/bin/env python
"""Fledge's command line: `uv run manage.py demo` starts everything."""

import os
import sys

if __name__ == "__main__":
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "program.config.settings")
    if sys.argv[1:2] == ["demo"]:
        os.environ.setdefault("DEMO", "1")
    from django.core.exceptions import ImproperlyConfigured
    from django.core.management import execute_from_command_line

    try:
        execute_from_command_line(sys.argv)
    except ImproperlyConfigured as wrong:
        sys.exit(f"Fledge cannot start: {wrong}")
