"""Pages on which crews change their records, people and keys."""
