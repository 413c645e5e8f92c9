"""Oils: viscosity, density and sound speed by the methods of the trade."""
