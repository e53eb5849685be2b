"""Tables of the trade with a source a row, and the formulas that go with them."""
