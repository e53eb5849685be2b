"""Values that planning makes and every writer reads. Nothing here computes."""
