"""One module per schema, each by the name of its revision."""
