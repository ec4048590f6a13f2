"""Addresses of the drawing page and of the picture under a level."""

from django.urls import URLPattern, path

from frontend.drawing import views

urlpatterns: list[URLPattern] = [
    path("venues/<uuid:venue_id>/plan/", views.draw, name="draw"),
    path("venues/<uuid:venue_id>/levels/<uuid:level_id>/picture/", views.plan_picture, name="plan-picture"),
]
