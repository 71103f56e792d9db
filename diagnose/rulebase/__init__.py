"""The rule base: records of causes, symptoms, checks, remedies, layouts, and the reader that makes them from YAML.

It must not know what was seen on any engine, nor how belief is worked out.
"""
