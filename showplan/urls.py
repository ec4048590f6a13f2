"""All addresses of the service."""

from django.urls import URLPattern, URLResolver, include, path

urlpatterns: list[URLPattern | URLResolver] = [
    path("api/", include("api.urls")),
    path("", include("frontend.urls")),
]
