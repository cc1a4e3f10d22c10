"""Settings of Foliowright: one file, read from environment variables with defaults that suit one machine.

FOLIOWRIGHT_DATA         folder of the database, the secret key and collected static files (default `var/data`)
FOLIOWRIGHT_DATABASE     empty for SQLite in the data folder, or a PostgreSQL address
FOLIOWRIGHT_DATABASE_PASSWORD_FILE  empty, or a file whose first line is the password for that address
FOLIOWRIGHT_HOSTS        empty, or the names by which other machines ask for the app
FOLIOWRIGHT_HTTPS_PROXY  empty, or addresses of the proxy that holds the certificate for these names
FOLIOWRIGHT_BACKUP_KEY_FILE  empty, or a file whose first line is the pass phrase of backups made on the page
FOLIOWRIGHT_DEBUG        yes or no (default no)
FOLIOWRIGHT_LOG          debug, info, warning or error (default warning)
"""

from pathlib import Path
from typing import Any

from config import environment, reach, security

BASE_DIR = Path(__file__).resolve().parent.parent
DATA_DIR: Path = environment.folder("FOLIOWRIGHT_DATA", BASE_DIR / "var" / "data")
DEBUG: bool = environment.yes_or_no("FOLIOWRIGHT_DEBUG", default=False)
LOG_LEVEL: str = environment.one_of("FOLIOWRIGHT_LOG", ("debug", "info", "warning", "error"), "warning")
SECRET_KEY: str = security.secret_key(DATA_DIR)
REACH = reach.Reach(
    environment.host_names("FOLIOWRIGHT_HOSTS"), environment.networks("FOLIOWRIGHT_HTTPS_PROXY")
)
ALLOWED_HOSTS = REACH.allowed_hosts

INSTALLED_APPS = [
    "django.contrib.auth",
    "django.contrib.contenttypes",
    "django.contrib.sessions",
    "django.contrib.messages",
    "whitenoise.runserver_nostatic",
    "django.contrib.staticfiles",
    "allauth",
    "allauth.account",
    "allauth.mfa",
    "csp",
    "django_filters",
    "django_htmx",
    "crispy_forms",
    "crispy_bootstrap5",
    "django_tasks_db",
    "accounts",
    "filing",
    "jobs",
    "portfolio",
    "imaging",
    "scoring",
    "plans",
    "dossier",
    "desk",
    "demo",
    "running",
]
MIDDLEWARE = [
    "config.reach.proxys_word_only",
    "config.security.headers_only",
    "django.middleware.security.SecurityMiddleware",
    "csp.middleware.CSPMiddleware",
    "whitenoise.middleware.WhiteNoiseMiddleware",
    "config.security.private_pages",
    "django.contrib.sessions.middleware.SessionMiddleware",
    "django.middleware.common.CommonMiddleware",
    "django.middleware.csrf.CsrfViewMiddleware",
    "django.contrib.auth.middleware.AuthenticationMiddleware",
    "accounts.middleware.limited_sessions",
    "accounts.middleware.SignedInUnlessOpen",
    "django.contrib.messages.middleware.MessageMiddleware",
    "django.middleware.clickjacking.XFrameOptionsMiddleware",
    "django_htmx.middleware.HtmxMiddleware",
    "desk.repeats.shut.ShutWhileRepeating",
    "allauth.account.middleware.AccountMiddleware",
]
ROOT_URLCONF = "config.urls"
WSGI_APPLICATION = "config.wsgi.application"
TEMPLATES: list[dict[str, Any]] = [
    {
        "BACKEND": "django.template.backends.django.DjangoTemplates",
        "DIRS": [BASE_DIR / "templates"],
        "APP_DIRS": True,
        "OPTIONS": {
            "context_processors": [
                "django.template.context_processors.request",
                "django.contrib.auth.context_processors.auth",
                "django.contrib.messages.context_processors.messages",
                "config.security.cookie_names",
            ],
        },
    },
]

# SQLite: IMMEDIATE lets competing saves wait for each other instead of failing; FULL keeps an acknowledged save
# through a power cut; what is erased is overwritten, so that no later backup carries it on. No ATOMIC_REQUESTS: every
# read would take the write lock.
SQLITE_OPTIONS: dict[str, Any] = {
    "transaction_mode": "IMMEDIATE",
    "timeout": 20,
    "init_command": "PRAGMA journal_mode=WAL; PRAGMA synchronous=FULL; PRAGMA secure_delete=ON;",
}
DATABASES: dict[str, dict[str, Any]] = {
    "default": environment.postgresql("FOLIOWRIGHT_DATABASE", "FOLIOWRIGHT_DATABASE_PASSWORD_FILE")
    or {
        "ENGINE": "django.db.backends.sqlite3",
        "NAME": DATA_DIR / "foliowright.sqlite3",
        "OPTIONS": SQLITE_OPTIONS,
    }
}
DATABASES["default"]["CONN_MAX_AGE"] = 60
# In the database, so that the sign-in limits count over all server processes.
CACHES = {"default": {"BACKEND": "django.core.cache.backends.db.DatabaseCache", "LOCATION": "cache"}}
DEFAULT_AUTO_FIELD = "django.db.models.BigAutoField"

# --- people and sign-in -------------------------------------------------------------------------------------
AUTH_USER_MODEL = "accounts.User"
AUTHENTICATION_BACKENDS = [
    "allauth.account.auth_backends.AuthenticationBackend",
]
AUTH_PASSWORD_VALIDATORS = [
    {
        "NAME": "django.contrib.auth.password_validation.UserAttributeSimilarityValidator",
        "OPTIONS": {"user_attributes": ("email", "name")},
    },
    {"NAME": "django.contrib.auth.password_validation.MinimumLengthValidator", "OPTIONS": {"min_length": 10}},
    {"NAME": "django.contrib.auth.password_validation.CommonPasswordValidator"},
    {"NAME": "django.contrib.auth.password_validation.NumericPasswordValidator"},
]
LOGIN_URL = "account_login"
LOGIN_REDIRECT_URL = "/"
ACCOUNT_ADAPTER = "accounts.adapter.ClosedDoor"
ACCOUNT_LOGIN_METHODS = {"email"}
ACCOUNT_SIGNUP_FIELDS = ["email*", "password1*"]
ACCOUNT_USER_MODEL_USERNAME_FIELD = None
ACCOUNT_EMAIL_VERIFICATION = "none"
ACCOUNT_EMAIL_NOTIFICATIONS = False
ACCOUNT_LOGOUT_REDIRECT_URL = "account_login"
ACCOUNT_SESSION_REMEMBER = False
ACCOUNT_FORMS = {
    "login": "accounts.forms.SignInForm",
    "change_password": "accounts.forms.OwnPasswordForm",
    "reauthenticate": "accounts.forms.PasswordOnceMoreForm",
}
# Beside the package's own limits on signing in, which stay as they are.
ACCOUNT_RATE_LIMITS = {"first_run": "20/m/ip", "one_time_link": "20/m/ip", "phone_code": "20/m/ip"}
MFA_FORMS = {
    "authenticate": "accounts.forms.SecondFactorForm",
    "reauthenticate": "accounts.forms.SecondFactorOnceMoreForm",
    "activate_totp": "accounts.forms.AuthenticatorAppForm",
}
MFA_ADAPTER = "accounts.second_factor.EncryptedSecrets"
MFA_SUPPORTED_TYPES = ["totp", "recovery_codes", "webauthn"]
MFA_TOTP_ISSUER = "Foliowright"
# Passkeys need a name: they work at http://localhost, which browsers and the package trust without a certificate,
# not at 127.0.0.1, where the pages hide their buttons.
MFA_PASSKEY_LOGIN_ENABLED = True
MFA_ALLOW_UNVERIFIED_EMAIL = True
# There is no mail server: links are shown on the page and nothing may be sent by accident.
EMAIL_BACKEND = "django.core.mail.backends.dummy.EmailBackend"

# --- protection of pages (the policies themselves are in config/security.py) --------------------------------
CONTENT_SECURITY_POLICY = security.CONTENT_SECURITY_POLICY
SECURE_CONTENT_TYPE_NOSNIFF = True
SECURE_REFERRER_POLICY = "same-origin"
SECURE_CROSS_ORIGIN_OPENER_POLICY = "same-origin"
X_FRAME_OPTIONS = "DENY"
SESSION_COOKIE_NAME = security.cookie_name("session", DATA_DIR, REACH.https)
SESSION_COOKIE_SECURE = REACH.https
SESSION_COOKIE_AGE = security.SESSION_SECONDS
SESSION_IDLE_SECONDS = security.SESSION_IDLE_SECONDS
SESSION_EXPIRE_AT_BROWSER_CLOSE = True
SESSION_COOKIE_HTTPONLY = True
SESSION_COOKIE_SAMESITE = "Lax"
# Messages name people and cases: they stay in the database and are not put into a cookie, where Django begins.
MESSAGE_STORAGE = "django.contrib.messages.storage.session.SessionStorage"
CSRF_COOKIE_NAME = security.cookie_name("csrf", DATA_DIR, REACH.https)
CSRF_COOKIE_SECURE = REACH.https
CSRF_COOKIE_SAMESITE = "Lax"
CSRF_TRUSTED_ORIGINS = REACH.trusted_origins
CSRF_FAILURE_VIEW = "accounts.error_pages.token_refused"
SECURE_PROXY_SSL_HEADER = ("HTTP_X_FORWARDED_PROTO", "https") if REACH.https else None
SECURE_SSL_REDIRECT = REACH.https
SECURE_REDIRECT_EXEMPT = [r"^alive/$"]  # asked by the health check of the machine itself
SECURE_HSTS_SECONDS = reach.HTTPS_PROMISE_SECONDS if REACH.https else 0
SILENCED_SYSTEM_CHECKS = REACH.silenced_checks

# --- background work ----------------------------------------------------------------------------------------
TASKS = {"default": {"BACKEND": "django_tasks_db.DatabaseBackend", "QUEUES": ["default"]}}
JOB_KINDS: list[str] = [
    "desk.change.rescoring.RESCORING",
    "desk.installation.BACKUP",
    "desk.installation.HEALTH_CHECK",
    "desk.installation.REHEARSAL",
    "dossier.case_print.CASE_PRINT",
]
"""Dotted names of the kinds of jobs (`jobs.registry.Kind`) that rooms offer."""
FILE_NAMERS = ["portfolio.selectors.file_uses.cases_of_files"]
"""Dotted names of functions that say of stored files, by primary key, which case each belongs to."""
RESTORE_PROOFS = ["dossier.trial_print.proof"]
"""Dotted names of functions that prove after a restore that the app works, each as a `filing.health.Result`."""
HOURLY_WORK = [
    "portfolio.services.retention.erase_long_deleted",
    "imaging.services.make_lost_renditions_anew",
]
"""Dotted names of functions that the worker calls every hour with the time."""
BACKUP_PHRASE: str = environment.phrase("FOLIOWRIGHT_BACKUP_KEY_FILE")

# --- language, time, forms, static files ---------------------------------------------------------------------
LANGUAGE_CODE = "en"
TIME_ZONE = "UTC"
USE_I18N = True
USE_TZ = True
CRISPY_ALLOWED_TEMPLATE_PACKS = "bootstrap5"
CRISPY_TEMPLATE_PACK = "bootstrap5"
STATIC_URL = "/static/"
STATIC_ROOT = DATA_DIR / "static"
STATICFILES_DIRS = [BASE_DIR / "static"]
STORAGES = {
    "default": {"BACKEND": "django.core.files.storage.FileSystemStorage"},
    "staticfiles": {"BACKEND": "config.static_files.HashedFiles"},
}
LOGGING = security.logging_without_identifiers(LOG_LEVEL.upper())
