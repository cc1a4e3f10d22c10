"""The shipped settings with the three changes that tests need; the database options stay as shipped."""

from config.settings import *  # noqa: F403

# Collected files and their manifest are made by `serve`; tests that ask for pages read the sources.
STORAGES = {
    "default": {"BACKEND": "django.core.files.storage.FileSystemStorage"},
    "staticfiles": {"BACKEND": "django.contrib.staticfiles.storage.StaticFilesStorage"},
}
PASSWORD_HASHERS = ["django.contrib.auth.hashers.MD5PasswordHasher"]
LOGGING_CONFIG = None
