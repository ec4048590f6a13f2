"""Views of the editing pages: rights, service call, page."""
