"""What a person in a notebook or a short script calls; ``import holecam`` gives these names on first use."""
