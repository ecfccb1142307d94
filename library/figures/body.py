"""The body: how long its segments are, what they weigh, how far its joints go.

Lengths are hundredths of stature. The adult fractions are de Leva's adjusted values for men
(J Biomech 1996;29:1223-1230), from memory: shoulder to vertex .174, mid-shoulder to mid-hip .296,
upper arm .162, forearm .154, thigh .243, shank .249, ankle height .039. A child of about eleven
carries a larger head (head height about 1/6.6 of stature against 1/7.6, common drawing practice),
so shoulder to vertex is 19.5 here and everything below is scaled by (100 - 19.5) / (100 - 17.4).

Masses are de Leva's fractions for men, from memory, with the head raised to a tenth of the body
(children's heads weigh more: Jensen, J Biomech 1989;22:529-537, from memory) and the rest scaled.

Ranges of motion: American Academy of Orthopaedic Surgeons' tables, from memory, widened where a
loaded or pushed joint goes further than a freely moved one; each widening says so.
"""

from __future__ import annotations

THIGH = 23.7
SHANK = 24.3
ANKLE_HEIGHT = 3.8
PELVIS, WAIST, CHEST = 8.2, 8.6, 11.9
TRUNK = PELVIS + WAIST + CHEST
UPPER_ARM = 15.8
FOREARM = 15.0
HAND = 7.2
GRIP = 3.4  # wrist to the middle of a closed hand
NECK_TO_HEAD = 12.1  # mid-shoulder to the middle of the head
HIP_HALF_WIDTH = 4.6
SHOULDER_HALF_WIDTH = 9.2

# The foot, from below the ankle: along its sole to heel, ball and toe (to the middle of the drawn
# line, whose half-thickness is FOOT_RADIUS).
FOOT_RADIUS = 2.1
HEEL, BALL, TOE = -1.7, 5.4, 8.5
ANKLE_TO_SOLE_LINE = ANKLE_HEIGHT - FOOT_RADIUS

# Half-thickness of what is drawn, so that flesh, not bone, meets the floor.
RADIUS = {
    "head": 7.4,
    "neck": 3.9,
    "chest": 4.3,
    "waist": 4.1,
    "pelvis": 4.4,
    "shoulder": 3.0,
    "elbow": 2.3,
    "wrist": 2.0,
    "fingers": 1.9,
    "hip": 3.0,
    "knee": 2.7,
    "ankle": 2.2,
    "heel": FOOT_RADIUS,
    "ball": FOOT_RADIUS,
    "toe": FOOT_RADIUS,
}

# Share of body mass, and where between the two ends the segment balances.
MASSES = {
    "head": (0.100, 0.0),
    "chest": (0.154, 0.50),
    "waist": (0.158, 0.50),
    "pelvis": (0.108, 0.40),
    "upper_arm": (0.0262, 0.577),
    "forearm": (0.0157, 0.457),
    "hand": (0.0059, 0.5),
    "thigh": (0.1369, 0.410),
    "shank": (0.0419, 0.446),
    "foot": (0.0133, 0.44),
}

# Degrees from the upright stance; flexion positive.
RANGES = {
    "hip": (-30, 135),  # 120 free; 135 with the pelvis tucked, as in a deep squat
    "hip_out": (-30, 60),  # 45 free; 60 in a wide stance
    "knee": (-2, 155),  # 135 free; 155 sat upon
    "ankle": (-62, 42),  # 20 up and 50 down free; 40 and 60 under body weight
    "toes": (-45, 90),  # 70 up and 45 curled free; 90 kneeling or planking on the toes
    "shoulder": (-72, 185),  # 60 back free, 72 leaning on hands behind; a hair past 180 for drawing
    "shoulder_out": (-50, 180),
    "elbow": (-3, 150),
    "wrist": (-95, 95),  # 70-80 free; 90 leaning on the palm
    "bend": (-35, 80),
    "side": (-40, 40),
    "twist": (-60, 60),
    "neck": (-60, 50),
}
