"""Django's CommonMiddleware, which does not ask a probe by which name it came."""

from typing import Final

from django.http import HttpRequest, HttpResponsePermanentRedirect
from django.middleware.common import CommonMiddleware

PROBES: Final = "/health/"
"""What answers whoever watches over the process, which knows it by a number."""


class ByNameUnlessProbed(CommonMiddleware):
    def process_request(self, request: HttpRequest) -> HttpResponsePermanentRedirect | None:
        if request.path_info.startswith(PROBES):
            return None
        return super().process_request(request)
