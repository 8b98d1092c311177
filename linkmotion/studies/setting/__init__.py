"""How to set the valves: dead centres, adjustments, the search, what will be read."""
