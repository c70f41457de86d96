"""What is kept of complaints, tickets, acts and alerts, and what every verb needs."""
