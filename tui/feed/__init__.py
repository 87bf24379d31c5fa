"""From the loggers' files to rows; they are only ever read."""
