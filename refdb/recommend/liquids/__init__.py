"""Pure liquids: equations, curves through measured points, and what follows from either."""
