"""A photo as a family of the demo might take it, painted here: two books on a floor of boards."""

import io
from typing import Final

from PIL import Image, ImageDraw, ImageFilter

from library.shared.uploads import Kind, Upload, read_upload

SIZE: Final = (1200, 900)
BOARD, SEAM, WALL, SKIRTING = "#b98d5c", "#8d6a41", "#dfe3dc", "#f2f0e8"
BOOKS: Final = (("#2f6f57", (300, 560, 900, 650)), ("#a23d26", (340, 470, 880, 560)))


def two_books_on_a_floor() -> Upload:
    """Taken like any upload."""
    picture = Image.new("RGB", SIZE, WALL)
    draw = ImageDraw.Draw(picture)
    draw.rectangle((0, 380, SIZE[0], 430), SKIRTING)
    draw.rectangle((0, 430, *SIZE), BOARD)
    for x in range(-600, 1800, 150):
        draw.line((600 + (x - 600) * 0.6, 430, x, SIZE[1]), SEAM, 4)
    draw.polygon(((280, 650), (920, 650), (1010, 720), (350, 720)), SEAM)
    for colour, (left, top, right, bottom) in BOOKS:
        draw.rectangle((left, top, right, bottom), "#f6f3ea")
        draw.rectangle((left, top, right, top + 14), colour)
        draw.rectangle((left, bottom - 14, right, bottom), colour)
        draw.rectangle((left, top, left + 26, bottom), colour)
    grain = Image.effect_noise(SIZE, 18).convert("RGB")
    taken = Image.blend(picture, grain, 0.08).filter(ImageFilter.GaussianBlur(1.2))
    file = io.BytesIO()
    taken.save(file, "JPEG", quality=90)
    file.seek(0)
    return read_upload(file, file.getbuffer().nbytes, "image/jpeg", (Kind.PHOTO,))
