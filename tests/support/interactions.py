"""What a person does on a page, counted: how much a job costs."""

from playwright.sync_api import Locator, Page


class Counted:
    """Acts on a page as a person does: each click, chord, choice and field typed counts one."""

    def __init__(self, page: Page) -> None:
        self.page = page
        self.count = 0

    def click(self, locator: Locator) -> None:
        """Click or tap once; a tick is a click."""
        self.count += 1
        locator.click()

    def follow(self, locator: Locator) -> None:
        """Click or tap once, and wait until the page that it leads to is there as a whole."""
        with self.page.expect_navigation(wait_until="load"):
            self.click(locator)

    def type(self, locator: Locator, text: str) -> None:
        """Fill a field, however long; getting into it is part of it."""
        self.count += 1
        locator.fill(text)

    def press(self, keys: str) -> None:
        """Press a key or a chord where the focus is, as "Enter" or "Control+z"."""
        self.count += 1
        self.page.keyboard.press(keys)

    def choose(self, locator: Locator, value: str) -> None:
        """Choose in a list, by the value or the words of an option."""
        self.count += 1
        locator.select_option(value)
