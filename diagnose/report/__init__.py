"""What goes out: JSON documents, terminal screens, pictures, papers.

It must not decide anything: whatever it shows was worked out below.
"""
