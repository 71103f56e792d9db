"""Problems in the knowledge of a rule base, and how well troubles can be isolated with it."""
