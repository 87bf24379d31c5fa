"""From the files that loggers write to the picture that people look at."""
