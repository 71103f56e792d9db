"""The rule base: records, and the reader that makes them from YAML."""
