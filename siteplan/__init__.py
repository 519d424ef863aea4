"""Plan the buried water line and conduit between a private well and its buildings."""

__version__ = "0.1.0"
