"""Shear of one specimen: net load, area, corrections, stresses, failure, stiffness, rate."""
