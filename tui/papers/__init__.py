"""What leaves the laboratory: the report that is signed, and files for other people's programs."""
