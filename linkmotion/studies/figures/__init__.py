"""Figures of a gear as a function of its dimensions: one vocabulary and one model for tolerances, diagnosis, setting.

A *figure* is anything that can be looked at in a notch (:mod:`.figure`): a lead, an event, an opening, the travel. A
*reading* is a figure with what was read and how near. :class:`~.model.GearModel` gives the figures of any number of
gears whose dimensions depart from those given, and their exact derivatives to every dimension.
"""
