"""How a child's name is read, typed or from a file. Imports no Django."""

from unicodedata import normalize


class NameRefused(ValueError):
    """Not a name; the message says so in one sentence."""


LONGEST = 40


def given_name(text: str) -> str:
    name = normalize("NFC", " ".join(text.split()))
    if not name:
        raise NameRefused("Give the given name.")
    if len(name) > LONGEST:
        raise NameRefused(f"A given name has at most {LONGEST} letters.")
    if "@" in name or not any(character.isalpha() for character in name):
        raise NameRefused(f"“{name}” does not read like a given name.")
    if not name.isprintable():
        raise NameRefused("This name holds a character that cannot be printed.")
    return name


def family_initial(text: str) -> str:
    """One letter, as a capital where it has one."""
    letter = normalize("NFC", text.strip().removesuffix("."))
    if not letter:
        raise NameRefused("Give the first letter of the family name.")
    if len(letter) > 1 or not letter.isalpha():
        raise NameRefused("One letter, please: the first of the family name.")
    return plain_upper(letter)


def initial_of(family_name: str) -> str:
    """The first letter of a family name; the rest is not kept."""
    letters = [character for character in normalize("NFC", family_name) if character.isalpha()]
    return family_initial(letters[0] if letters else family_name)


def plain_upper(text: str) -> str:
    """Capitals as the database makes them, letter by letter: “ß” stays what it is."""
    return "".join(c.upper() if len(c.upper()) == 1 else c for c in text)
