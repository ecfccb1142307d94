"""`uv run python -m tests.write_access_table` writes `program/docs/who-may-open-what.md`."""

import os


def main() -> None:
    os.environ.setdefault("DEBUG", "1")
    os.environ["DATABASE_URL"] = "postgres://nobody@127.0.0.1/nothing"  # no table is asked
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "program.config.settings")
    import django

    django.setup()
    from tests.support.access_table import PAGE, page

    PAGE.write_text(page())


if __name__ == "__main__":
    main()
