"""Settings: everything a deployment changes comes from SHOWPLAN_* environment variables.

SHOWPLAN_DATA           folder for the database, plan pictures and the secret key (default ./var)
SHOWPLAN_DATABASE_URL   postgresql://... for a team; without it SQLite in the data folder
SHOWPLAN_SECRET_KEY     without it a key is made once and kept in the data folder
SHOWPLAN_ALLOWED_HOSTS  comma-separated host names (default: this machine only)
SHOWPLAN_TRUSTED_ORIGINS  comma-separated https://host origins behind a proxy that ends TLS
SHOWPLAN_DEBUG          1 for a developer's machine; never on a server
"""

import os
from pathlib import Path

import dj_database_url
from csp.constants import NONE, SELF
from django.core.exceptions import ImproperlyConfigured

from showplan.secret import read_or_make_secret_key

BASE_DIR = Path(__file__).resolve().parent.parent
DATA_DIR = Path(os.environ.get("SHOWPLAN_DATA") or BASE_DIR / "var").resolve()

KNOWN = {"DATA", "DATABASE_URL", "SECRET_KEY", "ALLOWED_HOSTS", "TRUSTED_ORIGINS", "DEBUG"}
OF_THE_SCRIPTS = {"BIND", "CHROMIUM", "VENV"}
_unknown = {name for name in os.environ if name.startswith("SHOWPLAN_")} - {
    f"SHOWPLAN_{name}" for name in KNOWN | OF_THE_SCRIPTS
}
if _unknown:
    raise ImproperlyConfigured(
        f"unknown setting {', '.join(sorted(_unknown))}; known are SHOWPLAN_{', SHOWPLAN_'.join(sorted(KNOWN))}"
    )


def _listed(name: str, default: str = "") -> list[str]:
    return [part.strip() for part in os.environ.get(name, default).split(",") if part.strip()]


DEBUG = os.environ.get("SHOWPLAN_DEBUG", "") == "1"
SECRET_KEY = os.environ.get("SHOWPLAN_SECRET_KEY") or read_or_make_secret_key(DATA_DIR / "secret-key")
ALLOWED_HOSTS = _listed("SHOWPLAN_ALLOWED_HOSTS", "127.0.0.1,localhost,[::1]")
CSRF_TRUSTED_ORIGINS = _listed("SHOWPLAN_TRUSTED_ORIGINS")

INSTALLED_APPS = [
    "django.contrib.auth",
    "django.contrib.contenttypes",
    "django.contrib.sessions",
    "django.contrib.messages",
    "whitenoise.runserver_nostatic",
    "django.contrib.staticfiles",
    "csp",
    "django_htmx",
    "js_lib_leaflet",
    "rest_framework",
    "drf_spectacular",
    "drf_spectacular_sidecar",
    "showplan",
    "showplan.records",
    "api",
    "frontend",
]

MIDDLEWARE = [
    "api.request_ids.RequestIdMiddleware",
    "django.middleware.security.SecurityMiddleware",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "csp.middleware.CSPMiddleware",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "django.contrib.auth.middleware.LoginRequiredMiddleware",
    "django.contrib.messages.middleware.MessageMiddleware",
    "django_htmx.middleware.HtmxMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
]

ROOT_URLCONF = "showplan.urls"
WSGI_APPLICATION = "showplan.wsgi.application"
TEMPLATES = [
    {
        "BACKEND": "django.template.backends.django.DjangoTemplates",
        "APP_DIRS": True,
        "OPTIONS": {
            "context_processors": [
                "django.template.context_processors.request",
                "django.contrib.auth.context_processors.auth",
                "django.contrib.messages.context_processors.messages",
            ],
        },
    },
]

if os.environ.get("SHOWPLAN_DATABASE_URL"):
    DATABASES = {"default": dj_database_url.config("SHOWPLAN_DATABASE_URL", conn_max_age=600, conn_health_checks=True)}
else:
    DATABASES = {
        "default": {
            "ENGINE": "django.db.backends.sqlite3",
            "NAME": DATA_DIR / "showplan.sqlite3",
            # A file in the tests too, so that they meet the same journal mode and locks as a crew does.
            "TEST": {"NAME": DATA_DIR / "test.sqlite3"},
            "OPTIONS": {
                # Take the write lock at the start: two writers wait for each other and never deadlock midway.
                "transaction_mode": "IMMEDIATE",
                "timeout": 20,
                "init_command": "PRAGMA journal_mode=WAL; PRAGMA synchronous=NORMAL; PRAGMA foreign_keys=ON;",
            },
        }
    }
DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"

AUTH_USER_MODEL = "records.User"
AUTH_PASSWORD_VALIDATORS = [
    {"NAME": "django.contrib.auth.password_validation.UserAttributeSimilarityValidator"},
    {"NAME": "django.contrib.auth.password_validation.MinimumLengthValidator"},
    {"NAME": "django.contrib.auth.password_validation.CommonPasswordValidator"},
]
PASSWORD_HASHERS = [
    "django.contrib.auth.hashers.Argon2PasswordHasher",
    "django.contrib.auth.hashers.PBKDF2PasswordHasher",
]
LOGIN_URL = "sign-in"
LOGIN_REDIRECT_URL = "projects"
LOGOUT_REDIRECT_URL = "sign-in"

LANGUAGE_CODE = "en-gb"
USE_I18N = False
USE_TZ = True
TIME_ZONE = "UTC"

STATIC_URL = "static/"
STATIC_ROOT = DATA_DIR / "static"
MEDIA_ROOT = DATA_DIR / "media"
STORAGES = {
    "default": {"BACKEND": "django.core.files.storage.FileSystemStorage"},
    "staticfiles": {
        "BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"
        if DEBUG
        else "whitenoise.storage.CompressedManifestStaticFilesStorage"
    },
}

CONTENT_SECURITY_POLICY = {
    "DIRECTIVES": {
        "default-src": [SELF],
        # Leaflet and the page's own pictures; data: is for the one-pixel tile Leaflet ships.
        "img-src": [SELF, "data:"],
        "object-src": [NONE],
        "base-uri": [NONE],
        "frame-ancestors": [NONE],
        "form-action": [SELF],
    }
}
# The largest body that is read; a whole project's export is far below it.
DATA_UPLOAD_MAX_MEMORY_SIZE = 8_000_000

REST_FRAMEWORK = {
    "DEFAULT_AUTHENTICATION_CLASSES": (
        "api.callers.BearerAuthentication",
        "rest_framework.authentication.SessionAuthentication",
    ),
    "DEFAULT_PERMISSION_CLASSES": ("rest_framework.permissions.IsAuthenticated", "api.callers.HasScope"),
    "DEFAULT_RENDERER_CLASSES": ("rest_framework.renderers.JSONRenderer",),
    "DEFAULT_PARSER_CLASSES": ("api.parsing.StrictJSONParser",),
    "DEFAULT_SCHEMA_CLASS": "api.schema.Schema",
    "EXCEPTION_HANDLER": "api.problems.handle",
    "UNAUTHENTICATED_TOKEN": None,
    # Asking for another representation by a query parameter would collide with our own parameters.
    "URL_FORMAT_OVERRIDE": None,
}
SPECTACULAR_SETTINGS = {
    "TITLE": "Showplan API",
    "VERSION": "1",
    "OAS_VERSION": "3.1.0",
    "SCHEMA_PATH_PREFIX": "/api/v1",
    "SERVE_INCLUDE_SCHEMA": False,
    "SWAGGER_UI_DIST": "SIDECAR",
    "SWAGGER_UI_FAVICON_HREF": "SIDECAR",
    "COMPONENT_SPLIT_REQUEST": True,
    "POSTPROCESSING_HOOKS": [
        "api.schema.only_always_there",
    ],
    "ENUM_ADD_EXPLICIT_BLANK_NULL_CHOICE": False,
}

SECURE_CONTENT_TYPE_NOSNIFF = True
SECURE_REFERRER_POLICY = "same-origin"
X_FRAME_OPTIONS = "DENY"
SESSION_COOKIE_SAMESITE = "Lax"
CSRF_COOKIE_SAMESITE = "Lax"
# Secure cookies as soon as the service is reached through TLS (a trusted https origin is configured).
SESSION_COOKIE_SECURE = CSRF_COOKIE_SECURE = bool(CSRF_TRUSTED_ORIGINS)
if CSRF_TRUSTED_ORIGINS:
    SECURE_PROXY_SSL_HEADER = ("HTTP_X_FORWARDED_PROTO", "https")
