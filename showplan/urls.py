"""All addresses of the service."""

from django.urls import URLPattern, URLResolver, include, path

urlpatterns: list[URLPattern | URLResolver] = [path("", include("frontend.urls"))]
