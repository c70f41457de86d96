"""The way in and out: sign-in links, sign-out, the first page."""
