"""The invented program that `manage.py demo` shows. Nothing here is imported outside DEMO=1."""


def sign_in_lines() -> list[str]:
    """Who can sign in, for whoever starts the demo."""
    from program.demo.sign_in import DEMO_ACCOUNTS

    return [f"{door.email}: {door.who}" for door in DEMO_ACCOUNTS]
