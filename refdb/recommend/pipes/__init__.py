"""Pipes: dimensions, tolerances, linings and roughness as standards print them."""
