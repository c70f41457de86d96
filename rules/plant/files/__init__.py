"""Building files and household lists: read, or refused with everything that is wrong with them."""
