"""What we build: sites, aerials, patterns and transmitters."""
