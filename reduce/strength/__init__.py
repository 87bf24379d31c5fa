"""Strength of a set of specimens: envelopes, their interval, what does not fit."""
