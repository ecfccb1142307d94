"""The invented program that `manage.py demo` shows. Nothing here is imported outside DEMO=1."""
