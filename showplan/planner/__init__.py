"""What the tool is for: takes a frozen Scene, returns frozen results. No Django, no database."""

# Grows when a change alters a number that the planner returns; results carry it.
PLANNER_VERSION = "4"
