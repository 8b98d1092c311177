"""Repairs weighed: what each gains alone and together, and the best set for the hours there are."""
