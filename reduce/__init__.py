"""Reduction of triaxial tests: numbers in, numbers out; no clock, file, log, print or terminal."""
