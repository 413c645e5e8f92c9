"""Pipes: dimensions, tolerances, linings and roughness, and which pipe agrees with what was measured on it."""
