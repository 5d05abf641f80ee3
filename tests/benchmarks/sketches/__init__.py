"""Drawings as makers have them, of every kind, drawn by chance with known truth."""
