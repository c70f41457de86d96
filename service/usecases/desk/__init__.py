"""What people decide: tickets, complaints, conversations taken over."""
