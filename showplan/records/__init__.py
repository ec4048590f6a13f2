"""The records a crew edits: Django models, their constraints and their history."""
