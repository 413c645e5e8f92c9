"""Flow and heat: the profile, the factor, Reynolds number, the reading and its uncertainty."""
