"""Presenters: from results to what a template shows. They decide wording and order, never numbers."""
