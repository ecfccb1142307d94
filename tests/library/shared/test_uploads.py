"""What is taken of a photo or a clip, what is left behind, and what is not taken at all."""

import io
import re
import struct
import time
import zlib

import av
import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.forms import Form
from django.test import RequestFactory
from django.utils.datastructures import MultiValueDict
from PIL import Image

from library.shared.uploads import Kind, NotTaken, Upload, clips, kinds, read_upload
from library.shared.uploads.fields import UploadField
from library.shared.uploads.keeping import OURS, answer_with, kept, kind_of
from library.shared.uploads.limit import MOST
from tests.support.pictures import (
    clip,
    corner_colours,
    first_frame,
    photo,
    photo_with_secrets,
    turned_left,
    two_colours,
)

pytestmark = pytest.mark.django_db

BOTH = tuple(Kind)


def taken(content: bytes, said: str = "", only: tuple[Kind, ...] = BOTH) -> Upload:
    return read_upload(io.BytesIO(content), len(content), said, only)


def refused(content: bytes, said: str = "", only: tuple[Kind, ...] = BOTH) -> str:
    with pytest.raises(NotTaken) as reason:
        taken(content, said, only)
    return str(reason.value)


@pytest.fixture
def own_folder(settings, tmp_path):
    """A folder of this test's own for what is kept."""
    options = settings.STORAGES["uploads"]["OPTIONS"] | {"location": tmp_path / "kept"}
    uploads_alone = {**settings.STORAGES["uploads"], "OPTIONS": options}
    settings.STORAGES = {**settings.STORAGES, "uploads": uploads_alone}
    return tmp_path / "kept"


# What is kept


def test_a_photo_is_kept_without_where_and_with_what_it_was_taken():
    sent = photo_with_secrets()
    assert b"Telltale phone" in sent
    assert b"Telltale comment" in sent
    upload = taken(sent, "image/jpeg")
    assert b"Telltale" not in upload.content
    with Image.open(io.BytesIO(upload.content)) as written:
        assert (written.format, dict(written.getexif())) == ("JPEG", {})
        assert "comment" not in written.info
        assert corner_colours(written) == ("red", "blue")


def test_a_photo_taken_sideways_is_kept_upright():
    upload = taken(photo_with_secrets(orientation=6))  # to be turned a quarter to the right
    assert (upload.width, upload.height) == (240, 320)
    with Image.open(io.BytesIO(upload.content)) as written:
        top_right, bottom_right = written.getpixel((234, 5)), written.getpixel((234, 314))
    assert top_right[0] > 150 > top_right[2]  # red on the left is red at the top now
    assert bottom_right[2] > 150 > bottom_right[0]


@pytest.mark.parametrize("form", ["PNG", "WEBP", "AVIF"])
def test_other_forms_of_photos_are_drawn_anew_as_jpeg_on_white(form):
    clear = Image.new("RGBA", (40, 40), (0, 0, 0, 0))
    upload = taken(photo(clear, form))
    assert upload.content.startswith(b"\xff\xd8\xff")
    with Image.open(io.BytesIO(upload.content)) as written:
        assert min(written.getpixel((20, 20))) > 250


def test_a_large_photo_is_kept_no_larger_than_it_is_shown():
    upload = taken(photo(two_colours(4000, 3000)))
    assert (upload.width, upload.height) == (1600, 1200)
    assert len(upload.content) < 300_000


def test_a_clip_is_kept_without_its_sound_and_without_what_it_tells():
    sent = clip(sound=True, title="Telltale title", location="+51.5-000.1/")
    assert b"Telltale title" in sent
    upload = taken(sent, "video/mp4")
    assert b"Telltale" not in upload.content
    assert b"51.5" not in upload.content
    with av.open(io.BytesIO(upload.content)) as written:
        assert [stream.type for stream in written.streams] == ["video"]
        assert written.streams.video[0].codec_context.name == "h264"
    assert upload.seconds == pytest.approx(1.0, abs=0.1)
    assert corner_colours(first_frame(upload.content)) == ("red", "blue")


def test_a_clip_of_a_phone_held_upright_is_kept_upright():
    upload = taken(turned_left(clip()))
    assert (upload.width, upload.height) == (240, 320)
    frame = first_frame(upload.content)
    # Turned to the left, what was on the right is at the top.
    assert frame.getpixel((120, 5))[2] > 150 > frame.getpixel((120, 5))[0]
    assert frame.getpixel((120, 314))[0] > 150 > frame.getpixel((120, 314))[2]


def test_a_clip_from_a_browser_is_drawn_anew_as_what_every_phone_plays():
    upload = taken(clip(form="webm", codec="libvpx"), "video/webm")
    with av.open(io.BytesIO(upload.content)) as written:
        assert written.streams.video[0].codec_context.name == "h264"


def test_a_fast_and_large_clip_is_kept_smaller_and_slower():
    upload = taken(clip(seconds=0.5, size=(1920, 1080), rate=60))
    assert (upload.width, upload.height) == (960, 540)
    with av.open(io.BytesIO(upload.content)) as written:
        frames = sum(1 for _ in written.decode(video=0))
    assert 14 <= frames <= 16


# What is not taken


def test_an_empty_file_is_refused():
    assert refused(b"") == "This file is empty. Choose another one."


@pytest.mark.parametrize(
    "content",
    [
        b"<svg xmlns='http://www.w3.org/2000/svg'><script>alert(1)</script></svg>",
        b"GIF89a\x01\x00\x01\x00",
        b"%PDF-1.7 and so on",
        b"#EXTM3U\nfile:///etc/passwd\n",
        b"ffconcat version 1.0\nfile /etc/passwd\n",
        b"\x00",
    ],
)
def test_what_is_neither_photo_nor_clip_is_refused_whatever_it_says_it_is(content):
    for said in ("image/jpeg", "video/mp4", ""):
        assert refused(content, said).startswith("Choose a photo")


def test_a_clip_that_says_it_is_a_picture_is_refused():
    assert refused(clip(), "image/jpeg").startswith("This calls itself a picture but is a clip.")
    assert refused(photo(), "video/mp4").startswith("This calls itself a video but is a photo.")


def test_a_clip_where_only_photos_are_taken_is_refused():
    assert refused(clip(), "", (Kind.PHOTO,)) == "Choose a photo (JPEG, PNG, WebP or AVIF)."


def test_a_picture_that_few_phones_can_show_says_what_to_do():
    assert "screenshot" in refused(b"\x00\x00\x00\x18ftypheic\x00\x00\x00\x00")


def test_an_avif_that_names_its_family_first_is_a_photo_and_no_heic():
    avif = photo(form="AVIF")
    assert avif[8:12] == b"avif"
    assert taken(avif[:8] + b"mif1" + avif[12:], "image/avif").kind is Kind.PHOTO


@pytest.mark.parametrize("share", [0.1, 0.5, 0.98])
@pytest.mark.parametrize("form", ["JPEG", "PNG", "WEBP", "AVIF"])
def test_a_photo_that_is_broken_off_is_refused(form, share):
    noise = Image.effect_noise((200, 200), 90).convert("RGB")
    whole = photo(noise, form)
    assert taken(whole)
    assert refused(whole[: int(len(whole) * share)]) == kinds.BROKEN


def noisy_clip(file: io.BytesIO | str, **options: str) -> None:
    with av.open(file, "w", format="mp4", options=options) as target:
        video = target.add_stream("libx264", rate=15, options={"crf": "18", "g": "5"})
        video.width, video.height, video.pix_fmt = 160, 120, "yuv420p"
        for number in range(45):
            noise = Image.effect_noise((160, 120), 60 + number).convert("RGB")
            target.mux(video.encode(av.VideoFrame.from_image(noise)))
        target.mux(video.encode(None))


@pytest.mark.parametrize("share", [0.001, 0.1, 0.5])
def test_a_clip_that_is_broken_off_is_refused(share):
    file = io.BytesIO()
    noisy_clip(file)
    whole = file.getvalue()
    assert taken(whole)
    assert refused(whole[: max(20, int(len(whole) * share))]) in {kinds.BROKEN, clips.UNKNOWN}


@pytest.mark.parametrize("share", [0.2, 0.5, 0.7])
def test_a_clip_that_is_broken_off_after_its_index_is_refused(tmp_path, share):
    """It opens and plays to where it ends; only its index knows that there was more."""
    path = tmp_path / "whole.mp4"
    noisy_clip(str(path), movflags="faststart")
    whole = path.read_bytes()
    assert taken(whole)
    assert refused(whole[: int(len(whole) * share)]) == kinds.BROKEN


def png_that_claims(width: int, height: int) -> bytes:
    """A whole, tiny PNG whose header claims a size of its own."""

    def chunk(name: bytes, data: bytes) -> bytes:
        return (
            struct.pack(">I", len(data)) + name + data + struct.pack(">I", zlib.crc32(name + data))
        )

    header = struct.pack(">IIBBBBB", width, height, 8, 0, 0, 0, 0)
    pixels = zlib.compress(bytes(1000))
    return (
        b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", header) + chunk(b"IDAT", pixels) + chunk(b"IEND", b"")
    )


@pytest.mark.parametrize("size", [(10_000, 10_000), (65_535, 65_535), (2**31 - 1, 2)])
def test_a_small_file_that_claims_to_be_a_huge_picture_is_refused_at_once(size):
    began = time.process_time()
    assert "too many pixels" in refused(png_that_claims(*size))
    assert time.process_time() - began < 0.5


def test_a_clip_is_refused_when_it_is_too_long_and_when_it_only_says_that_it_is_not():
    long = clip(seconds=24, rate=2, size=(64, 48))
    assert refused(long) == clips.TOO_LONG
    # The length stands in the movie's, the track's and the media's headers; let all say 1 s.
    short = clip(seconds=1, rate=2, size=(64, 48))
    lying = bytearray(long)
    for box, skip, width in ((b"mvhd", 20, 4), (b"tkhd", 24, 4), (b"mdhd", 20, 4)):
        at, there = long.index(box) + skip, short.index(box) + skip
        lying[at : at + width] = short[there : there + width]
    assert refused(bytes(lying)) == clips.TOO_LONG


def test_a_clip_that_takes_too_long_to_convert_is_given_up(monkeypatch):
    monkeypatch.setattr(clips, "PATIENCE", 0.0)
    assert refused(clip()) == clips.TOO_SLOW


def test_a_file_larger_than_its_kind_may_be_is_refused_before_it_is_decoded():
    jpeg = io.BytesIO(photo())
    with pytest.raises(NotTaken, match="20 MB at most"):
        read_upload(jpeg, 20 * 1024 * 1024 + 1, "image/jpeg", BOTH)
    with pytest.raises(NotTaken, match="40 MB at most"):
        read_upload(io.BytesIO(clip()), 4 * 1024**3, "video/mp4", BOTH)


# In a form


class Asking(Form):
    upload = UploadField(required=False)


def form_with(*files: SimpleUploadedFile) -> Asking:
    return Asking({}, MultiValueDict({"upload": list(files)}))


def test_a_field_hands_over_what_is_to_be_kept_and_nothing_for_nothing():
    form = form_with(SimpleUploadedFile("a.jpg", photo(), "image/jpeg"))
    assert form.is_valid()
    assert form.cleaned_data["upload"].kind is Kind.PHOTO
    assert form_with().is_valid()
    assert Asking({"upload": "text"}, MultiValueDict()).is_valid()


def test_a_burst_of_300_photos_is_refused_at_the_field():
    burst = [SimpleUploadedFile(f"{n}.jpg", photo(), "image/jpeg") for n in range(300)]
    form = form_with(*burst)
    assert form.errors["upload"] == [
        "One file at a time, please: these were 300. Nothing was kept of them."
    ]


def test_a_refusal_stands_at_the_field():
    form = form_with(SimpleUploadedFile("a.jpg", clip(), "image/jpeg"))
    assert form.errors["upload"][0].startswith("This calls itself a picture but is a clip.")


class Unread(io.BytesIO):
    """A body that must not be read."""

    def read(self, *_: int) -> bytes:
        raise AssertionError("it was read")

    readline = read


def test_a_request_that_claims_four_gigabytes_is_refused_unread(client):
    claims = {"CONTENT_LENGTH": str(4 * 1024**3), "wsgi.input": Unread()}
    answer = client.generic("POST", "/sign-in/", b"", "multipart/form-data; boundary=x", **claims)
    assert answer.status_code == 413
    assert "too large to send" in answer.content.decode()
    at_most = client.generic("POST", "/sign-in/", b"", CONTENT_LENGTH=str(MOST))
    assert at_most.status_code == 200


# Keeping and handing out


def test_a_file_is_kept_under_a_name_that_tells_nothing_and_by_its_owner_alone(own_folder):
    with kept(taken(photo())) as name:
        pass
    assert re.fullmatch(OURS, name)
    assert kind_of(name) is Kind.PHOTO
    (file,) = own_folder.iterdir()
    assert file.stat().st_mode & 0o077 == 0
    assert own_folder.stat().st_mode & 0o077 == 0


def test_a_file_whose_row_is_not_written_is_not_kept(own_folder):
    def fail_to_write(upload: Upload) -> None:
        with kept(upload):
            assert len(list(own_folder.iterdir())) == 1
            raise ZeroDivisionError

    with pytest.raises(ZeroDivisionError):
        fail_to_write(taken(photo()))
    assert list(own_folder.iterdir()) == []


def test_a_file_is_handed_out_as_itself_and_as_nothing_else(own_folder):
    upload = taken(photo())
    with kept(upload) as name:
        answer = answer_with(RequestFactory().get("/"), name, of_a_child=True)
    assert b"".join(answer) == upload.content
    assert {
        "Content-Type": "image/jpeg",
        "Content-Disposition": 'inline; filename="photo.jpg"',
        "Cache-Control": "private, no-store",
        "X-Content-Type-Options": "nosniff",
        "Content-Security-Policy": "default-src 'none'; sandbox",
    }.items() <= answer.headers.items()


@pytest.mark.parametrize(
    ("asked", "status", "part"),
    [
        ("bytes=0-1", 206, slice(0, 2)),
        ("bytes=10-", 206, slice(10, None)),
        ("bytes=5-99999999999", 206, slice(5, None)),
        ("bytes=-5", 206, slice(-5, None)),
        ("bytes=-99999999999", 206, slice(None)),
        ("bytes=999999999-", 416, slice(0, 0)),
        ("bytes=3-1", 416, slice(0, 0)),
        ("bytes=-0", 416, slice(0, 0)),
        ("bytes=-", 416, slice(0, 0)),
        ("bytes=one-two", 416, slice(0, 0)),
        ("bytes=", 416, slice(0, 0)),
        # Several at once, and what counts in something else, may be answered with the whole.
        ("bytes=0-1,3-4", 200, slice(None)),
        ("nonsense", 200, slice(None)),
    ],
)
def test_a_player_may_ask_for_a_part_of_a_clip(own_folder, asked, status, part):
    upload = taken(clip())
    with kept(upload) as name:
        request = RequestFactory().get("/", headers={"Range": asked})
        answer = answer_with(request, name, of_a_child=True)
    assert answer.status_code == status
    assert b"".join(answer) == upload.content[part]
    if status == 416:
        assert answer.headers["Content-Range"] == f"bytes */{len(upload.content)}"


def test_uploads_are_kept_where_no_address_leads(settings):
    served = filter(None, [settings.STATIC_ROOT, *settings.STATICFILES_DIRS])
    assert not any(settings.UPLOADS_DIR.is_relative_to(folder) for folder in served)
