"""The team's web pages."""

from django.apps import AppConfig


class FrontendConfig(AppConfig):
    name = "frontend"
