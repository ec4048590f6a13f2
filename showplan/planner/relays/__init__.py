"""Where relays stand, and how few: `solve` turns a `RelayProblem` (arrays) into a `RelayAnswer`."""
