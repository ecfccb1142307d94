"""The web server's door. Only it keeps a connection pool with limits, and the garbage collector out
of its requests; a command opens one connection."""

import os

from django.core.exceptions import ImproperlyConfigured
from django.core.wsgi import get_wsgi_application

from program.config.start import end_start, refuse_unfit_start

os.environ.setdefault("DJANGO_SETTINGS_MODULE", "program.config.settings")
os.environ.setdefault("FLEDGE_POOL", "1")

try:
    application = get_wsgi_application()
except ImproperlyConfigured as wrong:
    end_start(str(wrong))

# It wants the apps, which the application has loaded.
from program.config.collector import collect_between_requests

refuse_unfit_start()
collect_between_requests()
