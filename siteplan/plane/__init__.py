"""Degrees to ground metres and back, and the ground surface. The only room that knows projections."""
