"""Liquids: strengths of solutions, and the way back from a sound speed to a liquid, a temperature or a strength."""
