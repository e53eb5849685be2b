"""Tables with their sources, and typed access to them: drills, threads, holes for screws, cutting data, limits.

Nothing heavy is imported here. The values that a quick look-up needs are named tuples and not dataclasses: making one
such class takes a fifth of the time, and a look-up needs a dozen before it can print. For the same reason those modules
keep their annotations as values (a named tuple would compile each from its text), patterns are compiled when they are
first used, and rows become values only when they are asked for.
"""
