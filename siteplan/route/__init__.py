"""Where the trench goes: kept-off areas, priced ground, the cheapest trenches over it, what is proven, and what else there is."""
