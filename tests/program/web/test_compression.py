"""What is made smaller on its way, and what is left as it is."""

import gzip

from django.http import HttpRequest, HttpResponse

from program.web.compression import CompressTexts

LONG = b"The heel stays down. " * 100


def sent(kind: str) -> HttpResponse:
    request = HttpRequest()
    request.META["HTTP_ACCEPT_ENCODING"] = "gzip, br"
    return CompressTexts(lambda request: HttpResponse(LONG, content_type=kind))(request)


def test_pages_and_drawings_are_compressed_and_read_back_the_same():
    for kind in ("text/html; charset=utf-8", "image/svg+xml", "application/json"):
        answer = sent(kind)
        assert answer["Content-Encoding"] == "gzip"
        assert len(answer.content) < len(LONG) / 5
        assert gzip.decompress(answer.content) == LONG


def test_how_long_the_answer_is_tells_little_of_what_is_in_it():
    """Up to a hundred random bytes each time, as Django adds them against BREACH."""
    assert len({len(sent("text/html").content) for _ in range(40)}) > 10


def test_photos_and_clips_are_left_alone():
    for kind in ("image/jpeg", "image/png", "video/mp4"):
        answer = sent(kind)
        assert answer.content == LONG
        assert "Content-Encoding" not in answer
