"""The inputs of a job: numbers with uncertainty and origin, given, from a row of the database, or a stated default."""
