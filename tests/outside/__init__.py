"""A stranger's view: buildings, faults, tenants and a technician who know the contract only."""
