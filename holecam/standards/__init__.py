"""Tables with their sources, and typed access to them: drills, threads, holes for screws, cutting data, limits.

Nothing heavy is imported here. The values that a quick look-up needs are named tuples and not structs, whose library
takes a tenth of the time that a look-up has. For the same reason those modules keep their annotations as values (a
named tuple would compile each from its text), patterns are compiled when they are first used, and rows become values
only when they are asked for.
"""
