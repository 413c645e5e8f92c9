"""On site: a speed from an echo time through a solid, or from a travel time through a liquid."""
