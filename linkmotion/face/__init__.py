"""The library's face: engines, states, sides, notches and ends by name, as a notebook needs them.

Everything here stands on the studies and views below and adds no physics: names are looked up (and the nearest told
when there is none), figures come in the engine file's unit, and what is found shows itself as a table.
"""
