"""Tests of refdb.data."""
