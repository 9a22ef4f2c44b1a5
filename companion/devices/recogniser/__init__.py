"""Sound to words: three recognisers behind one interface."""
