"""The only place that touches records and planner: pages, API and commands all go through here."""
