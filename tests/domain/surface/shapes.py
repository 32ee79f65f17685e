"""Pits whose volume is known on paper, and points on them. All invented."""

from __future__ import annotations

import math

import numpy as np
import shapely

from tracker.domain.surface.region import region

SIDE = 60.0
BOX = [(0.0, 0.0), (SIDE, 0.0), (SIDE, SIDE), (0.0, SIDE)]


def box_region(zones=None, at=(0.0, 0.0)):
    """The square of 60 m, moved to a place."""
    return region([[(x + at[0], y + at[1]) for x, y in BOX]], zones)


def halves(at=(0.0, 0.0)):
    """Two zones that share the square, west and east."""
    x, y = at
    return {
        "W": shapely.box(x, y, x + SIDE / 2, y + SIDE),
        "E": shapely.box(x + SIDE / 2, y, x + SIDE, y + SIDE),
    }


def scattered(count, seed=1, clear_m=0.3):
    """Random places in the square, some way off its edge."""
    return np.random.default_rng(seed).uniform(clear_m, SIDE - clear_m, (count, 2))


def points_on(level_of, places):
    """Points of a surface at these places."""
    return np.column_stack([places, level_of(places[:, 0], places[:, 1])])


def moved(points, east=0.0, north=0.0, up=0.0):
    """The same points elsewhere."""
    return points + np.array([east, north, up])


def bowl(x, y):
    """A smooth floor about ten metres down."""
    return -10.0 - 0.002 * (x - 30.0) ** 2 - 0.001 * (y - 20.0) ** 2


# the integral of the squared distance from c over 0 to 60, times the other side
BOWL_VOID_M3 = SIDE * (SIDE * 10.0 + 0.002 * (2 * 30.0**3 / 3) + 0.001 * ((20.0**3 + 40.0**3) / 3))


def disc(radius_m, corners=720):
    """A circle as a ring of many corners, and its area as that ring has it."""
    turn = np.linspace(0.0, 2.0 * math.pi, corners, endpoint=False)
    return np.column_stack([radius_m * np.cos(turn), radius_m * np.sin(turn)])


def cone(radius_m, depth_m):
    """Level of a pit that falls evenly to its middle; nothing outside."""
    return lambda x, y: -depth_m * np.maximum(0.0, 1.0 - np.hypot(x, y) / radius_m)


def paraboloid(radius_m, depth_m):
    """Level of a round bowl; nothing outside."""
    return lambda x, y: -depth_m * np.maximum(0.0, 1.0 - (x**2 + y**2) / radius_m**2)


def cap(sphere_m, depth_m):
    """Level of the part of a sphere below the ground; nothing outside."""
    centre = sphere_m - depth_m

    def level(x, y):
        return np.minimum(0.0, centre - np.sqrt(np.maximum(sphere_m**2 - x**2 - y**2, 0.0)))

    return level
