"""Arithmetic that gives the same digits on every processor, with any number of threads and any version of a library.

The results of derivation are frozen in releases to the last digit. They may not come from routines whose last bits
depend on the machine: linear algebra, sums in vector registers, the machine's exponential. This package is used
instead. Doubles are added, subtracted, multiplied, divided and rooted one at a time, or elementwise in numpy, which
IEEE 754 rounds in one way only. Sums are rounded once (`math.fsum`) or run in a fixed order. Functions that IEEE 754
does not fix are computed to many more bits and rounded once.
"""
