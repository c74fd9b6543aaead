"""Whether a receiver can use the field: chain, budget and service."""
