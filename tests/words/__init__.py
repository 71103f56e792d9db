"""The reader of plain words: by hand, by property, and on the phrases of the accounts."""
