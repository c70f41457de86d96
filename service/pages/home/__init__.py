"""The tenant's page behind an apartment's key, and the cards that carry the keys."""
