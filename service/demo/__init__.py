"""A cold night in an invented portfolio, played through the real intake."""
