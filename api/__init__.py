"""The REST API, version 1: thin doors to `showplan.services`."""
