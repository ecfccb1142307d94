"""Room on Python's own stack for all the calls that a page takes.

CPython 3.13 keeps the frames of calls in chunks of 16 KiB (`push_chunk` in its Python/pystate.c). A
call that does not fit maps a new one, and its return unmaps it: where templates go deeper and come
back around the end of a chunk, that is hundreds of system calls a page. It was a tenth of the time
of some pages (the library's) and nothing of others; which, changes with every line of code. A frame
that asks for more gets a larger chunk, and the calls below it use what is left of that.
"""

from collections.abc import Callable
from typing import Final

from django.http import HttpRequest, HttpResponse

FRAME: Final = 140_000
"""Words of 8 bytes. The chunk is the next power of two, 2 MiB, of which 0.9 MiB are left; memory
that no call comes to is never taken."""


def make_room(get_response: Callable[[HttpRequest], HttpResponse]) -> Callable[..., HttpResponse]:
    """Middleware; the first, since everything below it has the room."""

    def middleware(request: HttpRequest) -> HttpResponse:
        return get_response(request)

    middleware.__code__ = middleware.__code__.replace(co_stacksize=FRAME)
    return middleware
