"""What a browser says of itself, as much of it as somebody needs to know their own device by."""

from typing import Final

UNKNOWN: Final = "An unknown browser"

# The first that stands in what it says: most also claim to be those further down.
BROWSERS: Final = (
    ("SamsungBrowser/", "Samsung Internet"),
    ("Edg", "Edge"),
    ("OPR/", "Opera"),
    ("FxiOS/", "Firefox"),
    ("Firefox/", "Firefox"),
    ("CriOS/", "Chrome"),
    ("Chrome/", "Chrome"),
    ("Safari/", "Safari"),
)
SYSTEMS: Final = (
    ("Android", "Android"),
    ("iPhone", "an iPhone"),
    ("iPad", "an iPad"),
    ("CrOS", "ChromeOS"),
    ("Windows", "Windows"),
    ("Macintosh", "a Mac"),
    ("Linux", "Linux"),
)


def device_of(user_agent: str) -> str:
    """ "Firefox on Android": out of a few known words, whatever was sent."""
    browser = _first_of(BROWSERS, user_agent)
    system = _first_of(SYSTEMS, user_agent)
    if not browser:
        return UNKNOWN
    return f"{browser} on {system}" if system else browser


def _first_of(known: tuple[tuple[str, str], ...], user_agent: str) -> str:
    return next((name for sign, name in known if sign in user_agent), "")
