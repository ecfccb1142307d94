from playwright.sync_api import expect


class Finger:
    """A finger on a touch screen, as the browser itself gets it."""

    def __init__(self, page):
        self.page = page
        self.screen = page.context.new_cdp_session(page)

    def touch(self, what, *points):
        touching = [{"x": x, "y": y} for x, y in points]
        self.screen.send("Input.dispatchTouchEvent", {"type": what, "touchPoints": touching})

    def carry(self, item, place):
        """Put down on an item, wait until it is lifted, and slide it to the middle of a place."""
        start = self.put_down(item)
        expect(self.page.locator(".carried")).to_be_visible()
        self.slide(start, self.middle(place))

    def swipe(self, item, place):
        """Put down on an item, and slide to the middle of a place at once."""
        self.slide(self.put_down(item), self.middle(place))

    def put_down(self, item):
        self.centre(item)
        item.tap(trial=True)  # waits until nothing moves it any more and nothing lies above it
        start = self.middle(item)
        self.touch("touchStart", start)
        return start

    def slide(self, start, end):
        (x, y), (to_x, to_y) = start, end
        for step in range(1, 6):
            self.touch("touchMove", (x + (to_x - x) * step / 5, y + (to_y - y) * step / 5))
        self.page.wait_for_timeout(50)
        self.touch("touchEnd")

    def centre(self, item):
        how = "{ block: 'center', inline: 'center', behavior: 'instant' }"
        item.evaluate(f"item => item.scrollIntoView({how})")

    def middle(self, item):
        box = item.bounding_box()
        return box["x"] + box["width"] / 2, box["y"] + box["height"] / 2
