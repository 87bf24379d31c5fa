"""A bench that never was: the files that rehearsed cells would have left on disk."""
