"""Sound to words: several recognisers behind one interface."""
