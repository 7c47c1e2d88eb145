"""Readers: one module a format, each from bytes to shapes; ``jobfile`` puts a whole job together.

A reader never opens a file (``disk`` does), reports counts of what it took and skipped, and turns
every foreign error into a ``ReadError`` or a ``JobError`` with one sentence.
"""
