"""What people did, in an append-only journal of the bench."""
