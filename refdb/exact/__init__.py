"""Arithmetic whose every digit is the same on every processor, in any number of threads, in every release of a library.

What derivation finds is frozen in releases, digit for digit, so none of it may come from a routine whose last bits
depend on where it runs: linear algebra, sums in vector registers, the machine's exponential. Here are the pieces
instead. Doubles are added, subtracted, multiplied and divided, and square roots taken, one at a time or elementwise in
numpy, which IEEE 754 rounds in one way only; sums are rounded once (`math.fsum`) or go in a fixed order; the functions
that IEEE 754 leaves open are computed to many more bits and rounded once.
"""
