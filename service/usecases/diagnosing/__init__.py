"""A building looked at anew: what the rules are asked, groups, findings."""
