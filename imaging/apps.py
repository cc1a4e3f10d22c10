from django.apps import AppConfig


class ImagingConfig(AppConfig):
    name = "imaging"
