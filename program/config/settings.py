"""Settings, read from the environment once.

DEMO=1 serves the invented demo program on this machine only; DEBUG=1 is for working on Fledge.
Outside both, a secret key must be given and every cookie travels over https alone.
"""

import os
from pathlib import Path

import django_stubs_ext
from django.core.exceptions import ImproperlyConfigured
from django.utils.csp import CSP

from program.config import environment
from program.config.database import databases
from program.config.uploads import uploads_storage
from program.operations.this_machine import is_this_machine, refuse_others

# Lets generic Django classes carry their type parameter at run time.
django_stubs_ext.monkeypatch()

BASE_DIR = Path(__file__).resolve().parents[2]
DATA_DIR = Path(os.environ.get("FLEDGE_DATA_DIR", BASE_DIR / ".data"))
UPLOADS_DIR = Path(os.environ.get("FLEDGE_UPLOADS_DIR", DATA_DIR / "uploads"))
BACKUPS_DIR = Path(os.environ.get("FLEDGE_BACKUPS_DIR", DATA_DIR / "backups"))
BACKUPS_FOR = os.environ.get("FLEDGE_BACKUPS_FOR", "")  # a public key of the age format

DEMO = os.environ.get("DEMO") == "1"
DEBUG = os.environ.get("DEBUG") == "1"
ON_THIS_MACHINE_ONLY = DEMO or DEBUG
ON_THIS_MACHINE_ONLY_BY = "DEMO" if DEMO else "DEBUG"

DEFAULT_SECRET_KEY = "django-insecure-for-demo-and-debug-only"  # noqa: S105 -- refused below
SECRET_KEY = environment.text(os.environ, "SECRET_KEY", DEFAULT_SECRET_KEY)
if SECRET_KEY == DEFAULT_SECRET_KEY and not ON_THIS_MACHINE_ONLY:
    raise ImproperlyConfigured(
        "Set SECRET_KEY to a long random value. Only DEMO=1 and DEBUG=1 run without one."
    )
# Former ones: what was signed or sealed with them is still read.
SECRET_KEY_FALLBACKS = environment.names(os.environ, "SECRET_KEY_FALLBACKS")

ALLOWED_HOSTS = environment.names(os.environ, "ALLOWED_HOSTS", "127.0.0.1,localhost,[::1]")
if ON_THIS_MACHINE_ONLY:
    refuse_others(ON_THIS_MACHINE_ONLY_BY, ALLOWED_HOSTS)
CSRF_TRUSTED_ORIGINS = [f"https://{host}" for host in ALLOWED_HOSTS if not is_this_machine(host)]

INSTALLED_APPS = [
    "procrastinate.contrib.django",
    "program.apps.ProgramConfig",
    "athletes.apps.AthletesConfig",
    "library.apps.LibraryConfig",
    "django.contrib.auth",
    "django.contrib.contenttypes",
    "django.contrib.messages",
    "django.contrib.postgres",
    "django.contrib.staticfiles",
    "django.forms",
    "allauth",
    "allauth.account",
    "allauth.mfa",
    "crispy_forms",
    "crispy_bootstrap5",
    "django_htmx",
]

MIDDLEWARE = [
    "program.web.room_for_calls.make_room",
    "program.web.request_log.log_requests",
    "program.web.busy.AnswerWhenBusy",
    "program.operations.proxies.know_the_visitor",
    "django.middleware.security.SecurityMiddleware",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "program.web.compression.CompressTexts",
    "django.middleware.csp.ContentSecurityPolicyMiddleware",
    "program.web.try_again.TryAgain",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "program.web.any_host.ByNameUnlessProbed",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "program.web.private_pages.keep_private",
    "django.contrib.messages.middleware.MessageMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    "allauth.account.middleware.AccountMiddleware",
    "django_htmx.middleware.HtmxMiddleware",
    "library.shared.uploads.limit.refuse_huge_bodies",
    "program.web.method_not_allowed.explain_sent_only",
]

ROOT_URLCONF = "program.config.urls"
WSGI_APPLICATION = "program.config.wsgi.application"

TEMPLATES = [
    {
        "BACKEND": "django.template.backends.django.DjangoTemplates",
        "DIRS": [BASE_DIR / "templates"],
        "APP_DIRS": True,
        "OPTIONS": {
            "context_processors": [
                "django.template.context_processors.request",
                "django.template.context_processors.csp",
                "django.contrib.auth.context_processors.auth",
                "django.contrib.messages.context_processors.messages",
                "program.web.navigation.navigation",
                "program.week.first_steps.step_here",
            ],
        },
    },
]
FORM_RENDERER = "django.forms.renderers.TemplatesSetting"
CRISPY_ALLOWED_TEMPLATE_PACKS = "bootstrap5"
CRISPY_TEMPLATE_PACK = "bootstrap5"

DATABASES = databases(os.environ, DATA_DIR)
DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"
CACHES = {
    "default": {
        "BACKEND": "django.core.cache.backends.db.DatabaseCache",
        "LOCATION": "program_cache",
        # Sign-in limits are counted here. Django otherwise keeps 300 rows and throws every third
        # away, whatever it counts.
        "OPTIONS": {"MAX_ENTRIES": 100_000},
    }
}

AUTH_USER_MODEL = "athletes.User"
AUTHENTICATION_BACKENDS = ["allauth.account.auth_backends.AuthenticationBackend"]
LOGIN_URL = "account_login"
LOGIN_REDIRECT_URL = "program:home"
ACCOUNT_ADAPTER = "program.web.accounts.ClosedSignUp"
ACCOUNT_FORMS = {"request_login_code": "program.web.accounts.CodeForm"}
ACCOUNT_LOGIN_METHODS = {"email"}
ACCOUNT_SIGNUP_FIELDS = ["email*"]
ACCOUNT_USER_MODEL_USERNAME_FIELD = None
ACCOUNT_LOGIN_BY_CODE_ENABLED = True
ACCOUNT_PREVENT_ENUMERATION = True
ACCOUNT_EMAIL_UNKNOWN_ACCOUNTS = False
ACCOUNT_EMAIL_VERIFICATION = "none"
ACCOUNT_EMAIL_SUBJECT_PREFIX = ""
ACCOUNT_LOGOUT_REDIRECT_URL = "account_login"
ACCOUNT_SESSION_REMEMBER = True
# A second factor shown holds for this many seconds before it is asked for again (`asks_again`).
ACCOUNT_REAUTHENTICATION_TIMEOUT = 10 * 60

# The demo's people are let in by one click and have none.
COACHES_NEED_SECOND_FACTOR = not DEMO
MFA_ADAPTER = "program.web.second_factor.adapter.SecondFactors"
MFA_SUPPORTED_TYPES = ["totp", "webauthn", "recovery_codes"]
MFA_FORMS = {
    "authenticate": "program.web.second_factor.forms.SignInForm",
    "authenticate_webauthn": "program.web.second_factor.forms.SignInByPasskeyForm",
    "login_webauthn": "program.web.second_factor.forms.PasskeyAloneForm",
    "reauthenticate": "program.web.second_factor.forms.AgainForm",
    "reauthenticate_webauthn": "program.web.second_factor.forms.AgainByPasskeyForm",
    "activate_totp": "program.web.second_factor.forms.AppForm",
    "add_webauthn": "program.web.second_factor.forms.PasskeyForm",
}
MFA_PASSKEY_LOGIN_ENABLED = True
MFA_RECOVERY_CODES_SHOW_ONCE = True
MFA_TOTP_ISSUER = "Fledge"
MFA_TOTP_TOLERANCE = 1  # one step each way, as RFC 6238 advises for clocks that differ
MFA_WEBAUTHN_ALLOW_INSECURE_ORIGIN = ON_THIS_MACHINE_ONLY

# On this machine only, mails are printed where no mail server is named.
PRINTS_MAILS = ON_THIS_MACHINE_ONLY and "MAIL_HOST" not in os.environ
MAILERS = {
    "default": {"BACKEND": "django.core.mail.backends.console.EmailBackend", "OPTIONS": {}}
    if PRINTS_MAILS
    else {
        "BACKEND": "django.core.mail.backends.smtp.EmailBackend",
        "OPTIONS": {
            "host": environment.text(os.environ, "MAIL_HOST", "localhost"),
            "port": environment.number(os.environ, "MAIL_PORT", 25, least=1, most=65535),
            "username": os.environ.get("MAIL_USER", ""),
            "password": os.environ.get("MAIL_PASSWORD", ""),
            "use_tls": os.environ.get("MAIL_TLS") == "1",
            "timeout": 5,  # seconds: nobody waits longer for a mail server
        },
    }
}
DEFAULT_FROM_EMAIL = environment.text(os.environ, "MAIL_FROM", "Fledge <fledge@localhost>")
OPERATOR_MAIL = environment.mail_address(os.environ, "OPERATOR_MAIL")

# Where the tasks are that the worker is to know.
PROCRASTINATE_IMPORT_PATHS = [
    "athletes.mailing",
    "library.shared.uploads.keeping",
    "program.log.pain_mail",
    "program.privacy.copies",
    "program.privacy.erasing",
    "program.privacy.retention",
    "program.publish.closing",
    "program.publish.session_news",
    "program.report.writing",
    "program.review.decisions",
]

LANGUAGE_CODE = "en-gb"
TIME_ZONE = environment.time_zone(os.environ, "TIME_ZONE", "Europe/London")
USE_I18N = False
USE_TZ = True
FIRST_DAY_OF_WEEK = 1

STATIC_URL = "static/"
# Where they are collected to; on this machine only they are served from where they lie.
STATIC_ROOT = (
    None if ON_THIS_MACHINE_ONLY else Path(os.environ.get("STATIC_ROOT", BASE_DIR / "staticfiles"))
)
STATICFILES_DIRS = [BASE_DIR / "static"]
WHITENOISE_USE_FINDERS = ON_THIS_MACHINE_ONLY
WHITENOISE_AUTOREFRESH = DEBUG
STORAGES = {
    # No address leads there: `library.shared.uploads.keeping` hands out what a view may show.
    "uploads": uploads_storage(os.environ, UPLOADS_DIR),
    "staticfiles": {
        "BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"
        if ON_THIS_MACHINE_ONLY
        else "whitenoise.storage.CompressedManifestStaticFilesStorage"
    },
}

SECURE_CSP = {
    "default-src": [CSP.SELF],
    "script-src": [CSP.SELF, CSP.NONCE],
    "style-src": [CSP.SELF, CSP.NONCE],
    "img-src": [CSP.SELF, "data:"],
    "object-src": [CSP.NONE],
    "base-uri": [CSP.NONE],
    "form-action": [CSP.SELF],
    "frame-ancestors": [CSP.NONE],
}
SECURE_REFERRER_POLICY = "same-origin"
SESSION_COOKIE_SECURE = CSRF_COOKIE_SECURE = not ON_THIS_MACHINE_ONLY
# A browser takes such a name over https from this very host alone: no neighbour under a club's
# domain puts its own there. Over http it takes none.
COOKIES_OF = "" if ON_THIS_MACHINE_ONLY else "__Host-"
SESSION_COOKIE_NAME = f"{COOKIES_OF}sessionid"
CSRF_COOKIE_NAME = f"{COOKIES_OF}csrftoken"  # static/js/follow/outbox.js reads it
SESSION_ENGINE = "athletes.session_store"
SESSION_COOKIE_HTTPONLY = True
SESSION_COOKIE_AGE = 60 * 60 * 24 * 30  # the cookie's; `SignIn` decides
SECURE_SSL_REDIRECT = not ON_THIS_MACHINE_ONLY
SECURE_REDIRECT_EXEMPT = [r"^health/(live|ready)$"]
TRUSTED_PROXIES = environment.addresses(os.environ, "TRUSTED_PROXIES")
SECURE_PROXY_SSL_HEADER = ("HTTP_X_FORWARDED_PROTO", "https")
SECURE_HSTS_SECONDS = 0 if ON_THIS_MACHINE_ONLY else 60 * 60 * 24 * 365
SECURE_HSTS_INCLUDE_SUBDOMAINS = SECURE_HSTS_PRELOAD = not ON_THIS_MACHINE_ONLY
X_FRAME_OPTIONS = "DENY"

# 10 MB files are refused by the form with a message; the server takes a little more to be able to.
DATA_UPLOAD_MAX_MEMORY_SIZE = 12 * 1024 * 1024
# A burst of photos reaches the field, which takes one and says so.
DATA_UPLOAD_MAX_NUMBER_FILES = 400
DATA_UPLOAD_MAX_NUMBER_FIELDS = 4000

LOGGING = {
    "version": 1,
    "disable_existing_loggers": False,
    "filters": {
        "served": {"()": "django.utils.log.RequireDebugFalse"},
        "a fault": {"()": "program.config.faults.IsAFault"},
    },
    "formatters": {
        "where": {"()": "program.config.faults.WhereOnly"},
        "line": {"format": "%(message)s"},
    },
    "handlers": {
        "faults": {
            "class": "logging.StreamHandler",
            "level": "ERROR",
            "filters": ["served", "a fault"],
            "formatter": "where",
        },
        "operator": {
            "class": "program.operations.fault_mail.MailToOperator",
            "level": "ERROR",
            "filters": ["served"],
        },
        "requests": {
            "class": "logging.StreamHandler",
            "stream": "ext://sys.stdout",
            "formatter": "line",
        },
    },
    "loggers": {
        "django.request": {"handlers": ["faults", "operator"]},
        "fledge.tasks": {"handlers": ["faults", "operator"], "propagate": False},
        "fledge.operator": {"handlers": ["faults", "operator"], "propagate": False},
        # It repeats what a task was given and what an exception said; our own line does not.
        "procrastinate": {"level": "CRITICAL"},
        "psycopg.pool": {"level": "ERROR"},  # each try to connect; who needed it tells once
        # On this machine only, the terminal is for whoever works or looks around.
        "fledge.requests": {
            "handlers": ["requests"],
            "level": "WARNING" if ON_THIS_MACHINE_ONLY else "INFO",
            "propagate": False,
        },
    },
}

SILENCED_SYSTEM_CHECKS = [
    # User.email is unique by a constraint on its lower-case form, which this check cannot see.
    "auth.W004",
]
