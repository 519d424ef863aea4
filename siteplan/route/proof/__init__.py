"""What no trench can fall below: proven lower bounds of the price."""
