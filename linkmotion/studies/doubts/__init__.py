"""Doubt to the end: what the doubts of figures as taken make of events and leads, and of what targets say."""
