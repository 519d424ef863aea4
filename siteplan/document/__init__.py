"""Plan to map, sheets, tables and GeoJSON. Computes no length and no verdict."""
