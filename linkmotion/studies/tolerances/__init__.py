"""What must we hold: tolerances, the spread of events that they make, and the loosest set that will do."""
