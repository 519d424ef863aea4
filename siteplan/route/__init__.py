"""Where the trench goes."""
