"""The web server's door. Only it keeps a connection pool, and the garbage collector out of its
requests; a command opens one connection."""

import os

from django.core.wsgi import get_wsgi_application

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "program.config.settings")
os.environ.setdefault("FLEDGE_POOL", "1")

application = get_wsgi_application()

from program.config.collector import collect_between_requests  # noqa: E402 -- wants the apps

collect_between_requests()
