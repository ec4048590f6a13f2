"""Where relays stand, and how few: `solve.solve` turns a `RelayProblem` (arrays) into a `RelayAnswer`."""
