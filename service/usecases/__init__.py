"""One module per verb: what the service does when something happens or somebody asks."""
