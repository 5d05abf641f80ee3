"""The type of a colour: CIE L*a*b*, D65, 2 degrees."""

Lab = tuple[float, float, float]
"""CIE L* a* b*, D65, 2 degree observer, L* 0-100."""
