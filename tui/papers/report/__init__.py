"""The report of a test or a set: what it says (`paper`), and the same as HTML and as PDF."""
