"""Choosing output channels for relays: what is free, whom it harms, and the best set for several at once."""
