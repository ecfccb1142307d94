"""Photos and clips made for tests, and what is inside what was kept of them."""

import io
import struct
from fractions import Fraction

import av
from PIL import Image

LEFT, RIGHT = (220, 30, 30), (30, 60, 220)
"""Red on the left, blue on the right: so one sees which way up a picture is."""

GPS_IFD, MAKE, ORIENTATION = 0x8825, 0x010F, 0x0112


def two_colours(width: int = 320, height: int = 240) -> Image.Image:
    picture = Image.new("RGB", (width, height), LEFT)
    picture.paste(RIGHT, (width // 2, 0, width, height))
    return picture


def photo(picture: Image.Image | None = None, form: str = "JPEG", **how) -> bytes:
    file = io.BytesIO()
    (picture or two_colours()).save(file, form, **how)
    return file.getvalue()


def photo_with_secrets(orientation: int = 1) -> bytes:
    """A JPEG that tells where and with what it was taken."""
    exif = Image.Exif()
    exif[MAKE], exif[ORIENTATION] = "Telltale phone", orientation
    exif.get_ifd(GPS_IFD)[2] = (51.0, 30.0, 12.5)
    return photo(exif=exif.tobytes(), comment=b"Telltale comment")


def clip(
    seconds: float = 1.0,
    size: tuple[int, int] = (320, 240),
    rate: int = 15,
    form: str = "mp4",
    codec: str = "libx264",
    sound: bool = False,
    **metadata: str,
) -> bytes:
    """A clip of two still colours, with a hum if it has sound."""
    file = io.BytesIO()
    with av.open(file, "w", format=form) as target:
        target.metadata.update(metadata)
        video = target.add_stream(codec, rate=rate)
        video.width, video.height = size
        video.pix_fmt = "yuv420p"
        audio = target.add_stream("aac", rate=44100) if sound else None
        picture = av.VideoFrame.from_image(two_colours(*size))
        for number in range(round(seconds * rate)):
            picture.pts, picture.time_base = number, Fraction(1, rate)
            target.mux(video.encode(picture))
        target.mux(video.encode(None))
        if audio:
            hum = av.AudioFrame(format="fltp", layout="mono", samples=1024)
            hum.sample_rate, hum.pts = 44100, 0
            for plane in hum.planes:
                plane.update(bytes(plane.buffer_size))
            target.mux([*audio.encode(hum), *audio.encode(None)])
    return file.getvalue()


def turned_left(mp4: bytes) -> bytes:
    """The same clip saying that it has to be turned a quarter to the left, as phones held upright
    say: in the matrix of its track header, which is 16.16 fixed point."""
    upright = struct.pack(">9i", 0x10000, 0, 0, 0, 0x10000, 0, 0, 0, 0x40000000)
    left = struct.pack(">9i", 0, -0x10000, 0, 0x10000, 0, 0, 0, 0, 0x40000000)
    header = mp4.index(b"tkhd")
    matrix = mp4.index(upright, header)
    return mp4[:matrix] + left + mp4[matrix + len(left) :]


def first_frame(mp4: bytes) -> Image.Image:
    with av.open(io.BytesIO(mp4)) as source:
        return next(source.decode(video=0)).to_image()


def corner_colours(picture: Image.Image) -> tuple[str, str]:
    """What is at the upper left and at the lower right: red, blue or something else."""
    width, height = picture.size
    return _named(picture.getpixel((5, 5))), _named(picture.getpixel((width - 6, height - 6)))


def _named(colour: tuple[int, int, int]) -> str:
    for name, wanted in (("red", LEFT), ("blue", RIGHT)):
        if all(abs(one - other) < 40 for one, other in zip(colour, wanted, strict=True)):
            return name
    return "something else"
