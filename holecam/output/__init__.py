"""Papers, pictures, tables and drawings made from a plan."""
