from django.apps import AppConfig


class FilingConfig(AppConfig):
    name = "filing"
