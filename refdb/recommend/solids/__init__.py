"""Solids: speeds and densities of materials, from what documents print, from moduli, or from relatives."""
