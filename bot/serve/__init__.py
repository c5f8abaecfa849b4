"""`rackside serve`: the channels, the clock and the outbox, until a signal."""
