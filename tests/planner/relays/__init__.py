"""Where relays stand: the pure core."""
