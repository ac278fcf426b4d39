"""Every setting of the server. What may differ between two servers comes from the environment through coop/conf.py."""

import atexit
import os
import shutil
import sys
import tempfile
from pathlib import Path
from typing import Any

from django.core.exceptions import ImproperlyConfigured

from coop import conf as _conf

BASE_DIR = _conf.ROOT


def _read() -> _conf.Conf:
    """The environment; under test in a folder that goes away, and without needing a single variable."""
    test = os.environ.get("COOP_ENV") == "test" or not {"pytest", "mypy"}.isdisjoint(sys.modules)
    folder = None
    if test and not os.environ.get("COOP_DATA"):
        folder = Path(tempfile.mkdtemp(prefix="coop-test-"))
        atexit.register(shutil.rmtree, folder, ignore_errors=True)
    try:
        return _conf.read(test=test, data=folder)
    except _conf.BadSettings as trouble:
        raise ImproperlyConfigured(f"The settings in the environment cannot be used.\n{trouble}") from None


CONF = _read()
IS_TEST = CONF.is_test
IS_DEMO = CONF.is_demo
DATA_FOLDER = CONF.data
SITE_ADDRESS = CONF.address.origin

DEBUG = False
SECRET_KEY = CONF.secret_key or ("only-for-tests-0123456789-abcdefghijklmnopqrstuvwxyz" if IS_TEST else "")
if not SECRET_KEY:
    raise ImproperlyConfigured(
        f"There is no secret key. Run deploy/start once, which makes one in {DATA_FOLDER}, or set COOP_SECRET_KEY to "
        f"{_conf.KNOWN['COOP_SECRET_KEY']}."
    )

# The site -------------------------------------------------------------------------------------------------------------
ALLOWED_HOSTS = sorted({CONF.address.host, "localhost", "127.0.0.1", "[::1]"} | ({"testserver"} if IS_TEST else set()))
CSRF_TRUSTED_ORIGINS = [SITE_ADDRESS]
ROOT_URLCONF = "coop.site.urls"
WSGI_APPLICATION = "coop.site.wsgi.application"
DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"
DATA_UPLOAD_MAX_MEMORY_SIZE = 7 * 1024 * 1024  # a file of 5 MB in base64
APPEND_SLASH = False

INSTALLED_APPS = [
    "coop.site",
    "coop",
    "inventory",
    "batches",
    "members",
    "django.contrib.auth",
    "django.contrib.contenttypes",
    "django.contrib.sessions",
    "django.contrib.messages",
    "django.contrib.staticfiles",
    "django.contrib.humanize",
    "allauth",
    "allauth.account",
    "allauth.mfa",
    "django_htmx",
    "csp",
    "django_filters",
    "rest_framework",
    "drf_spectacular",
    "drf_spectacular_sidecar",
]

MIDDLEWARE = [
    "django.middleware.security.SecurityMiddleware",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "csp.middleware.CSPMiddleware",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "django.contrib.messages.middleware.MessageMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    "django_htmx.middleware.HtmxMiddleware",
    "allauth.account.middleware.AccountMiddleware",
    "coop.middleware.AccessMiddleware",
]

TEMPLATES = [
    {
        "BACKEND": "django.template.backends.django.DjangoTemplates",
        "APP_DIRS": True,
        "OPTIONS": {
            "context_processors": [
                "django.template.context_processors.request",
                "django.contrib.auth.context_processors.auth",
                "django.contrib.messages.context_processors.messages",
                "coop.context.everywhere",
            ],
        },
    }
]

# The database ---------------------------------------------------------------------------------------------------------
# SQLite: FULL, since a phone drops its log on our answer; recursive_triggers, else INSERT OR REPLACE passes a trigger.
# The tests' databases live in a folder that goes away, so they need not wait for the disk.
_SQLITE = (
    "PRAGMA journal_mode=WAL; PRAGMA synchronous={}; PRAGMA recursive_triggers=1; PRAGMA cache_size=-8000;"
).format("OFF" if IS_TEST else "FULL")
LOCK_WAIT_S = 20


def _database() -> dict[str, Any]:
    database = dict(CONF.database)
    if not database and os.environ.get("COOP_TEST_ENGINE") == "postgresql" and IS_TEST:
        # the tests start a server and fill in where it listens (tests/conftest.py)
        database = {"ENGINE": "django.db.backends.postgresql", "NAME": "postgres", "OPTIONS": {}}
    if database:
        options = {"connect_timeout": 10, **database["OPTIONS"], "options": f"-c lock_timeout={LOCK_WAIT_S}s"}
        return {**database, "CONN_MAX_AGE": 0 if IS_TEST else 60, "CONN_HEALTH_CHECKS": True, "OPTIONS": options}
    return {
        "ENGINE": "django.db.backends.sqlite3",
        "NAME": DATA_FOLDER / "coop.sqlite3",
        "CONN_MAX_AGE": 0 if IS_TEST else 60,
        "OPTIONS": {"transaction_mode": "IMMEDIATE", "timeout": LOCK_WAIT_S, "init_command": _SQLITE},
        "TEST": {"NAME": str(DATA_FOLDER / "test.sqlite3")},
    }


DATABASES = {"default": _database()}

# The bell -------------------------------------------------------------------------------------------------------------
BELL_FOLDER = DATA_FOLDER / "bell"
CELERY_BROKER_URL = CONF.redis_url or "filesystem://localhost//"
CELERY_BROKER_TRANSPORT_OPTIONS: dict[str, Any] = (
    {"visibility_timeout": 600}
    if CONF.redis_url
    else {
        "data_folder_in": str(BELL_FOLDER / "queue"),
        "data_folder_out": str(BELL_FOLDER / "queue"),
        "control_folder": str(BELL_FOLDER / "control"),
        "polling_interval": 1,
    }
)
CELERY_BROKER_CONNECTION_RETRY_ON_STARTUP = True
CELERY_TASK_IGNORE_RESULT = True
CELERY_TASK_STORE_ERRORS_EVEN_IF_IGNORED = False
CELERY_TASK_SERIALIZER = "json"
CELERY_ACCEPT_CONTENT = ["json"]
CELERY_TASK_TIME_LIMIT = 300
CELERY_TASK_SOFT_TIME_LIMIT = 240
CELERY_WORKER_PREFETCH_MULTIPLIER = 1
CELERY_WORKER_ENABLE_REMOTE_CONTROL = False
CELERY_WORKER_SEND_TASK_EVENTS = False
CELERY_WORKER_HIJACK_ROOT_LOGGER = False
CELERY_BEAT_SCHEDULER = "celery.beat:Scheduler"  # nothing on the disk: the schedule stands in coop/site/celery.py
CELERY_TIMEZONE = "UTC"

# Rate limits of sign-in count here, across processes: in Redis, or in files where one machine serves the club.
CACHES: dict[str, Any] = {
    "default": {"BACKEND": "django.core.cache.backends.redis.RedisCache", "LOCATION": CONF.redis_url}
    if CONF.redis_url
    else {"BACKEND": "django.core.cache.backends.filebased.FileBasedCache", "LOCATION": str(DATA_FOLDER / "counts")}
}
if IS_TEST:
    CACHES["default"] = {"BACKEND": "django.core.cache.backends.locmem.LocMemCache"}

# Mail -----------------------------------------------------------------------------------------------------------------
# Without a mail server letters are written as files, and the outbox page shows them. A demo sends no mail at all.
LETTER_FOLDER = DATA_FOLDER / "letters"
DEFAULT_FROM_EMAIL = SERVER_EMAIL = CONF.mail_from
EMAIL_TIMEOUT = 20
EMAIL_BACKEND = "coop.mailfolder.EmailBackend"
if CONF.smtp:
    EMAIL_BACKEND = "django.core.mail.backends.smtp.EmailBackend"
    EMAIL_HOST, EMAIL_PORT = CONF.smtp.host, CONF.smtp.port
    EMAIL_HOST_USER, EMAIL_HOST_PASSWORD = CONF.smtp.user, CONF.smtp.password
    EMAIL_USE_SSL, EMAIL_USE_TLS = CONF.smtp.tls, CONF.smtp.starttls

# People and sign-in ---------------------------------------------------------------------------------------------------
AUTH_USER_MODEL = "coop.Person"
AUTHENTICATION_BACKENDS = ["allauth.account.auth_backends.AuthenticationBackend"]
AUTH_PASSWORD_VALIDATORS: list[dict[str, Any]] = []  # nobody has a password
LOGIN_URL = "account_request_login_code"
LOGIN_REDIRECT_URL = "/"
LOGOUT_REDIRECT_URL = "/"
ACCOUNT_ADAPTER = "coop.signin.Adapter"
ACCOUNT_FORMS = {"request_login_code": "coop.pages.signin.forms.AskForCode"}
ACCOUNT_USER_MODEL_USERNAME_FIELD = None
ACCOUNT_LOGIN_METHODS = {"email"}
ACCOUNT_SIGNUP_FIELDS = ["email*"]
ACCOUNT_EMAIL_VERIFICATION = "none"
ACCOUNT_EMAIL_UNKNOWN_ACCOUNTS = False
ACCOUNT_PREVENT_ENUMERATION = True
ACCOUNT_LOGIN_BY_CODE_ENABLED = True
ACCOUNT_LOGIN_BY_CODE_MAX_ATTEMPTS = 3
ACCOUNT_LOGIN_BY_CODE_TIMEOUT = 600
ACCOUNT_REAUTHENTICATION_TIMEOUT = 600
ACCOUNT_SESSION_REMEMBER = True
ACCOUNT_EMAIL_SUBJECT_PREFIX = ""
ACCOUNT_DEFAULT_HTTP_PROTOCOL = CONF.address.scheme
ALLAUTH_TRUSTED_PROXY_COUNT = CONF.proxies
MFA_SUPPORTED_TYPES = ["totp", "webauthn", "recovery_codes"]
MFA_PASSKEY_LOGIN_ENABLED = False
MFA_PASSKEY_SIGNUP_ENABLED = False
MFA_WEBAUTHN_ALLOW_INSECURE_ORIGIN = CONF.address.is_loopback

# Cookies, transport, policy -------------------------------------------------------------------------------------------
SESSION_COOKIE_AGE = 60 * 60 * 24 * 30
SESSION_COOKIE_SECURE = CSRF_COOKIE_SECURE = LANGUAGE_COOKIE_SECURE = CONF.address.is_https
SESSION_COOKIE_HTTPONLY = CSRF_COOKIE_HTTPONLY = True
SESSION_COOKIE_SAMESITE = CSRF_COOKIE_SAMESITE = "Lax"
SECURE_SSL_REDIRECT = CONF.address.is_https
SECURE_REDIRECT_EXEMPT = [r"^health$"]  # asked from the machine itself
SECURE_PROXY_SSL_HEADER = ("HTTP_X_FORWARDED_PROTO", "https") if CONF.address.is_https and CONF.proxies else None
SECURE_HSTS_SECONDS = 60 * 60 * 24 * 365 if CONF.address.is_https else 0
SECURE_REFERRER_POLICY = "same-origin"
X_FRAME_OPTIONS = "DENY"
SILENCED_SYSTEM_CHECKS = [
    "auth.W004",  # e-mail is unique by a constraint on its lower case
    # a club's server often shares its domain with others, whom it cannot bind to HTTPS
    "security.W005",
    "security.W021",
]

CONTENT_SECURITY_POLICY = {
    "DIRECTIVES": {
        "default-src": ["'none'"],
        "script-src": ["'self'"],
        "style-src": ["'self'"],
        "img-src": ["'self'", "data:"],
        "font-src": ["'self'"],
        "connect-src": ["'self'"],
        "manifest-src": ["'self'"],
        "worker-src": ["'self'"],
        "form-action": ["'self'"],
        "base-uri": ["'none'"],
        "frame-ancestors": ["'none'"],
        "object-src": ["'none'"],
    }
}

# Static files ---------------------------------------------------------------------------------------------------------
STATIC_URL = "/static/"
STATIC_ROOT = DATA_FOLDER / "static"
STORAGES = {
    "default": {"BACKEND": "django.core.files.storage.InMemoryStorage"},  # no local files that matter
    "staticfiles": {
        "BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"
        if IS_TEST
        else "whitenoise.storage.CompressedManifestStaticFilesStorage"
    },
}
WHITENOISE_USE_FINDERS = WHITENOISE_AUTOREFRESH = IS_TEST
if IS_TEST:
    STATIC_ROOT.mkdir(parents=True, exist_ok=True)

# Language and time ----------------------------------------------------------------------------------------------------
LANGUAGE_CODE = "en-gb"
LANGUAGES = [("en-gb", "English")]
USE_I18N = True
USE_TZ = True
TIME_ZONE = "UTC"  # what people mean by a day is the club's zone: coop.models.club

# The API --------------------------------------------------------------------------------------------------------------
REST_FRAMEWORK = {
    "DEFAULT_AUTHENTICATION_CLASSES": [
        "coop.api.tokens.TokenAuthentication",
        "rest_framework.authentication.SessionAuthentication",
    ],
    "DEFAULT_PERMISSION_CLASSES": ["coop.api.permission.MarkPermission"],
    "DEFAULT_RENDERER_CLASSES": ["rest_framework.renderers.JSONRenderer"],
    "DEFAULT_PARSER_CLASSES": ["rest_framework.parsers.JSONParser"],
    "DEFAULT_SCHEMA_CLASS": "drf_spectacular.openapi.AutoSchema",
    "DEFAULT_PAGINATION_CLASS": "rest_framework.pagination.LimitOffsetPagination",
    "DEFAULT_FILTER_BACKENDS": ["django_filters.rest_framework.DjangoFilterBackend"],
    "EXCEPTION_HANDLER": "coop.api.base.on_error",
    "PAGE_SIZE": 50,
    "NUM_PROXIES": CONF.proxies,
    "DEFAULT_THROTTLE_RATES": {"stranger": "30/min"},
}
SPECTACULAR_SETTINGS = {
    "TITLE": "Strip co-op server",
    "DESCRIPTION": "The same commands and queries as the pages, for programs.",
    "VERSION": "1",
    "SERVE_INCLUDE_SCHEMA": False,
    "SWAGGER_UI_DIST": "SIDECAR",
    "SWAGGER_UI_FAVICON_HREF": "SIDECAR",
    "REDOC_DIST": "SIDECAR",
    "COMPONENT_SPLIT_REQUEST": True,
    "ENUM_NAME_OVERRIDES": {
        "BenchState": "batches.models.Bench.State",
        "SoakState": "batches.models.Soak.State",
        "EquipmentKind": "batches.models.Equipment.Kind",
        "ItemKind": "inventory.models.Item.Kind",
        "MaterialKind": "inventory.models.Material.Kind",
        "PlaceKind": "inventory.models.Place.Kind",
        "MovementCause": "inventory.models.Movement.Cause",
        "StocktakeState": "inventory.models.Stocktake.State",
        "StockFileState": "inventory.models.StockFile.State",
    },
}

# Logging: to stderr, and never a secret -------------------------------------------------------------------------------
LOGGING = {
    "version": 1,
    "disable_existing_loggers": False,
    "filters": {"no_secrets": {"()": "coop.logs.NoSecrets"}},
    "formatters": {"line": {"format": "{asctime} {levelname} {name}: {message}", "style": "{"}},
    "handlers": {
        "stderr": {"class": "logging.StreamHandler", "formatter": "line", "filters": ["no_secrets"]},
    },
    "root": {"handlers": ["stderr"], "level": "WARNING" if IS_TEST else CONF.log_level},
    "loggers": {
        "django": {"handlers": [], "propagate": True, "level": "WARNING"},
        "django.server": {"handlers": [], "propagate": True, "level": "WARNING"},
        # a page not found or refused is an answer, not an incident, and its address may hold a link to sign in
        "django.request": {"level": "ERROR"},
        "django.security.DisallowedHost": {"level": "CRITICAL"},
        "celery": {"level": "WARNING"},
        "kombu": {"level": "WARNING"},
    },
}
