"""Where photos and clips are kept: in a folder, or in a bucket of an object storage.

`UPLOADS_BUCKET` names a bucket of anything that speaks S3; `UPLOADS_ENDPOINT` (an address, left out
for the protocol's own maker), `UPLOADS_REGION`, `UPLOADS_ACCESS_KEY` and `UPLOADS_SECRET_KEY` say
how to reach it. No browser is ever sent there: `library.shared.uploads.keeping` reads what a view
may show and hands it out, so the bucket is closed to everybody else.
"""

from collections.abc import Mapping
from pathlib import Path
from typing import Any, Final

from django.core.exceptions import ImproperlyConfigured

SECONDS_TO_CONNECT: Final = 5
SECONDS_TO_READ: Final = 20
TRIES: Final = 2


def uploads_storage(environ: Mapping[str, str], folder: Path) -> dict[str, Any]:
    """An entry of Django's STORAGES."""
    if bucket := environ.get("UPLOADS_BUCKET"):
        return _in_bucket(bucket, environ)
    return {
        "BACKEND": "django.core.files.storage.FileSystemStorage",
        "OPTIONS": {
            "location": folder,
            "file_permissions_mode": 0o600,
            "directory_permissions_mode": 0o700,
        },
    }


def _in_bucket(bucket: str, environ: Mapping[str, str]) -> dict[str, Any]:
    try:
        from botocore.config import Config
    except ImportError as error:
        raise ImproperlyConfigured(
            "UPLOADS_BUCKET keeps uploads in an object storage, which wants what "
            "`uv sync --extra object-storage` installs."
        ) from error
    endpoint = environ.get("UPLOADS_ENDPOINT") or None
    return {
        "BACKEND": "storages.backends.s3.S3Storage",
        "OPTIONS": {
            "bucket_name": bucket,
            "endpoint_url": endpoint,
            "region_name": environ.get("UPLOADS_REGION") or None,
            "access_key": environ.get("UPLOADS_ACCESS_KEY") or None,
            "secret_key": environ.get("UPLOADS_SECRET_KEY") or None,
            "default_acl": None,  # the bucket's own, and some know no other
            "file_overwrite": False,
            "client_config": Config(
                signature_version="s3v4",
                s3={"addressing_style": "path" if endpoint else "auto"},
                request_checksum_calculation="when_required",  # not all know the newer checksums
                connect_timeout=SECONDS_TO_CONNECT,
                read_timeout=SECONDS_TO_READ,
                retries={"total_max_attempts": TRIES},
            ),
        },
    }
