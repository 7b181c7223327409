"""Texts of setup files, one measured and one built, to be read as they are or with a line changed."""

from __future__ import annotations

MEASURED = """
name = "test bow"
category = "club"
form = "measured"
[bow]
length = "68 in"
brace_height = "220 mm"
upper_tiller = "195 mm"
lower_tiller = "190 mm"
draw_weight = "34 lb"
[limbs]
mass = "165 g"
[riser]
mass = "1.15 kg"
[[riser.rods]]
length = "700 mm"
rod_mass = "130 g"
end_mass = "120 g"
[string]
material = "HMPE"
strands = 18
[nock]
height = "5.8 mm"
[nock.locators]
reading = "8 mm"
[rest]
droop = "0.6 mm"
[arrow]
length = "720 mm"
diameter = "5.5 mm"
spine = 700
mass_per_length = "6.4 gr/in"
point_mass = "90 gr"
[archer]
draw_length = "28 in"
"""

# The reference case of the model, as far as records go.
BUILT = """
name = "reference case"
category = "club"
form = "built"
[bow]
length = "62 in"
[limbs]
length = "520 mm"
pocket_angle = "10 deg"
bending_stiffness = ["23.0 N m^2", "5.4 N m^2"]
mass_per_length = ["0.22 kg/m", "0.085 kg/m"]
loss_time = "0 us"
[riser]
mass = "1.3 kg"
mass_centre_y = "30 mm"
inertia = "0.09 kg m^2"
upper_root_x = "-20 mm"
upper_root_y = "330 mm"
lower_root_x = "-20 mm"
lower_root_y = "-270 mm"
[[riser.rods]]
start_x = "450 mm"
start_y = "-50 mm"
length = "0 mm"
end_mass = "0.9 kg"
[string]
length = "1485.69 mm"
axial_stiffness = "1.0e5 N"
mass_per_length = "4.2 g/m"
end_serving_length = "0 mm"
[nock.locators]
reading = "9 mm"
upper_mass = "0.15 g"
lower_mass = "0.15 g"
mass_at = "2 mm"
[rest]
stiffness = "800 N/m"
support_travel = "223 mm"
[arrow]
length = "720 mm"
diameter = "5.5 mm"
spine = 0.600
mass_per_length = "15 g/m"
point_mass = "7.8 g"
nock_mass = "0.9 g"
[archer]
draw_length = "717.45 mm"
finger_shares = [0.35, 0.45, 0.20]
release_time = "4 ms"
"""
