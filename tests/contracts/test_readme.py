"""README.md shows each station of the loop, by day and by night, in words too."""

import re

from PIL import Image

from tests.pictures import PICTURES, REPOSITORY, file_name
from tests.pictures.stations import STATIONS
from tests.support.screens import LIGHT_AND_DARK

README = (REPOSITORY / "README.md").read_text()
SHOWN = re.compile(
    r'<picture>\s*<source media="\(prefers-color-scheme: dark\)" srcset="(?P<dark>[^"]+)">\s*'
    r'<img src="(?P<light>[^"]+)" alt="(?P<alt>[^"]*)" width="(?P<width>\d+)">\s*</picture>'
)
FOLDER = PICTURES.relative_to(REPOSITORY).as_posix()
SHORTEST, LONGEST = 60, 400
"""Characters of a text that says what is seen, and is still listened to."""
MOST_BYTES = 1_500_000


def test_every_station_is_shown_light_and_dark_and_no_picture_is_left_over():
    shown = [each.groupdict() for each in SHOWN.finditer(README)]
    assert len(shown) == len(re.findall("<picture>|<img|!\\[", README)) / 2
    assert [(each["light"], each["dark"]) for each in shown] == [
        tuple(f"{FOLDER}/{file_name(station.name, scheme)}" for scheme in LIGHT_AND_DARK)
        for station in STATIONS
    ]
    there = {f"{FOLDER}/{each.name}" for each in PICTURES.iterdir()}
    assert there == {each[scheme] for each in shown for scheme in LIGHT_AND_DARK}


def test_who_does_not_see_a_picture_reads_what_is_on_it():
    texts = [each["alt"] for each in SHOWN.finditer(README)]
    assert texts
    assert len(set(texts)) == len(texts)
    assert [text for text in texts if not SHORTEST <= len(text) <= LONGEST] == []


def test_the_pictures_are_of_their_screens_and_small():
    for station in STATIONS:
        for scheme in LIGHT_AND_DARK:
            with Image.open(PICTURES / file_name(station.name, scheme)) as picture:
                size = (station.screen["width"], station.screen["height"])
                assert (picture.format, picture.size) == ("WEBP", size), picture.filename
    assert sum(each.stat().st_size for each in PICTURES.iterdir()) < MOST_BYTES


def test_every_page_and_folder_that_it_names_is_there():
    linked = set(re.findall(r"\]\(([\w./-]+)\)|`((?:athletes|program)/[\w./-]+)`", README))
    linked = {page or code for page, code in linked}
    assert linked
    assert {page for page in linked if not (REPOSITORY / page).exists()} == set()
