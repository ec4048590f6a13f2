"""Power: circuit, findings, energy."""
