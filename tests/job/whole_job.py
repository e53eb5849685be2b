"""A job that uses every table of the file once. All data invented."""

from __future__ import annotations

WHOLE_JOB = """\
title = "Lantern hood, left half"
unit = "in"
hand = "left as fitted; notch at the left rear"
revision = "B"
date = 2024-05-31
notes = ["the hood was shortened", "the rail stays"]

[machine]
name = "knee mill"
kind = "cnc"
readout = "0.0005"
dials = { lead = 0.1, divisions = 100 }
backlash = [0.005, 0.008]
approach = ["+x", "+y"]
safe_height = "1/2"
spindle = { slowest = 120, fastest = 2800 }
fastest_feed = 40
travel = { x = [-15, 15], y = [-6, 6], z = [-5, 0.5] }

[machine.program]
cycles = "long-hand"
arc_centres = "absolute"
decimals = 4
ending = "M2"

[tools]
drills = ["number", "letter", "fraction", "2.5 mm"]
drill_point_deg = 135
end_mills = ["1/4", { diameter = "3/16", flutes = 2, material = "carbide", name = "small" }]
taps = [{ thread = "5-40", kind = "bottoming" }]

[part]
material = "brass"
thickness = "3/16"
temper = "half hard"
datum = "left end and rear edge of the rail"
outline = { rectangle = ["7-1/4", "7/16"], corner_radius = "1/16" }

[setup]
held = "on its former"
zero_found_by = "edge finder"
skew = { edge = { first = ["0.010", "0.020"], second = ["6.010", "0.042"] }, found_by = "edge finder" }

[other_hand]
hand = "right as fitted; notch at the right rear"
flip = "x"

[[body]]
name = "former"
material = "beech"
thickness = 2
outline = { points = [[0, 0], [8, 0], { arc_to = [8, 3], radius = 2, turn = "left" }, { to = [0, 3], rounded = 0.1 }] }

[[keep_out]]
name = "nose curve"
kind = "curve"
in = "former"
line = [["6.5", 0], { arc_to = ["6.5", "2.5"], through = [7, "1.25"] }]

[[keep_out]]
name = "bend"
kind = "bend"
line = [[0, 0], [7, 0]]
width = 0.05
radius = "3/32"

[[old_holes]]
name = "old row"
line = { count = 6, pitch = "1-1/4" }
place = { at = ["0.620", "0.220"] }
diameter = "0.125"
plug = "brass screw, soft soldered"

[[pattern]]
name = "rail screws"
like = "old row"
thread = "5-40"
tap = { percent = 70, by = "hand" }
depth = { full_thread = "1/8" }
countersink = "flat"
place = { moved = { from = "old row", by = "hood length" }, free = "x", when_blocked = "nearest" }
over = "rail end over the hood"

[[pattern.candidate]]
name = "further left"
shift = ["-0.100", 0]

[[pattern]]
name = "cover"
circle = { count = 5, diameter = 2, first_deg = 18 }
clearance_for = "M3"
fit = "fine"
place = { centre = [3, "0.2"], within = "2 thou" }
leave_out = [2]

[[mate]]
name = "base"
pattern = "rail screws"
holes = { line = { count = 6, pitch = "1-1/4" }, diameter = "9/64" }
measured = [{ hole = 2, off = ["0.003", 0] }]
lean_deg = 1.5

[[limit]]
of = "edge-distance"
least_diameters = 1.25
reason = "the edge is not loaded"

[[chain]]
name = "hood length"
process = "0.020"

[[chain.section]]
name = "skirt"
drawn = "2-1/2"
measured = ["2.52", "2.515"]
with = "calliper"

[[chain.section]]
name = "slope"
drawn = 3
slope_deg = 12

[[chain.reading]]
of = ["skirt", "slope"]
is = "5-13/32"
with = "steel rule"

[[marking_out]]
name = "former end"
drawn = { rectangle = [3, 2] }
made = { rectangle = ["3.03", 2] }
held_at = [{ drawn = 1, made = 1 }]

[[slot]]
name = "rail clearance"
in = "former"
clears = { width = "7/16", height = "3/16", within = "0.010", float = "0.015" }
from = [0, "1.250"]
to = ["6.400", "1.250"]
ends = ["open", { stop_short = "nose curve", by = "0.060" }]
cutter = "1/4 end mill"
sneak = { undersize = "0.020", steps = 3 }

[[pocket]]
name = "patch"
in = "former"
clears = { rectangle = [1, "3/4"], at = [2, "1/2"], height = "1/16", within = "0.010", float = "1/32" }
cutter = ["1/4 end mill"]
second_cutter = "small"
relief = { shape = "diagonal" }
island = [{ circle = "1/8", centre = ["2.5", "0.9"] }]

[[step_down]]
name = "rail end over the hood"
layers = [
  { is = "brass rail", thick = "3/16", within = "0.001" },
  { is = "soft solder", thick = "0.004", within = "0.002" },
  { is = "copper hood", thick = "0.025", keep = true },
]
touch = { on = "brass rail", with = "paper" }
bend = { inside_radius = ["3/32", "0.100"], margin = "0.020", along = [[0, 0], [1, 0]] }
region = { rectangle = [1, "7/16"] }
cutter = "small"
tail = ["0.002", "0.001", "0.0005"]
look = [{ at_depth = "0.180", seen = "bar" }]
"""
