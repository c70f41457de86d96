"""What can be wrong with a plant, and what each fault would make us see."""
