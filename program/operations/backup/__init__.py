"""Everything Fledge keeps, in one file, and back again: `manage.py backup` and `restore`.

`archive`, `encryption`, `files`, `manifest` and `postgres` know no Django; `uploads` goes through
Django's storage API; `making`, `checking` and `restoring` put them together; `before_migrating` is
what `migrate` asks.
"""
