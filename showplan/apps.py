"""Showplan itself as an application, so that its management commands are found."""

from django.apps import AppConfig


class ShowplanConfig(AppConfig):
    name = "showplan"
    default = True
