"""Solutions: surfaces over temperature and strength."""
