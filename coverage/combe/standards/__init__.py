"""What the rule books say: tables of published values with their references."""
