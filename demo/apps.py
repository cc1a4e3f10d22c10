"""The invented clinic."""

from django.apps import AppConfig


class DemoConfig(AppConfig):
    name = "demo"
