"""What goes out: JSON documents and terminal screens."""
