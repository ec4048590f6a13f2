"""Views: permission, service call, page."""
