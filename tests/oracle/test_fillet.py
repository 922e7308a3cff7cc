"""Fillets by the equation of Young and Laplace along the arc, with scipy; numbers for the table of published checks."""

import math

from scipy.integrate import quad, solve_ivp
from scipy.optimize import brentq

GRAVITY = 9.80665


def down(pressure, weight, height, slope):
    """Slope at the substrate, width, area and its moment about the wall of a surface that leaves the wall at a height with a slope."""

    def rate(_, y):
        phi, x, z = y[:3]
        return [pressure - weight * z, math.cos(phi), -math.sin(phi), z * math.cos(phi), x * z * math.cos(phi)]

    landed = lambda _, y: y[2]
    landed.terminal, landed.direction = True, -1
    path = solve_ivp(rate, (0, 60 * height), [slope, 0.0, height, 0.0, 0.0], events=landed, rtol=1e-11, atol=1e-16, method="DOP853")
    return tuple(path.y_events[0][0][i] for i in (0, 1, 3, 4)) if len(path.y_events[0]) else None


def of_height(height, wall, foot, weight):
    """Pressure over tension, width, area and moment of the fillet with both contact angles, by shooting from the wall."""
    least = -2 / height
    most = 1e-6 * least if weight == 0 else 0.5 * height * weight
    land = lambda p: (down(p, weight, height, math.pi / 2 - wall) or (0.0,))[0]
    pressure = brentq(lambda p: land(p) - foot, least, most, xtol=1e-12 / height)
    return pressure, *down(pressure, weight, height, math.pi / 2 - wall)[1:]


def under(pressure, wall, foot, weight):
    """Height, width, area and moment of the fillet under a pressure over the tension below zero."""
    drop = math.cos(foot) - math.sin(wall)
    apart = lambda h: (down(pressure, weight, h, math.pi / 2 - wall) or (0.0,))[0] - foot
    # Weight makes it lower than the arc of that pressure.
    height = brentq(apart, 0.2 * drop / -pressure, 1.0001 * drop / -pressure, xtol=1e-15)
    return height, *down(pressure, weight, height, math.pi / 2 - wall)[1:]


def uneven():
    """The die of the table: 8 mm by 10 mm, four pairs of angles, 4 mm3 beside it; pressure in Pa, heights and widths in um."""
    tension, density, volume = 0.03, 1700.0, 4e-9
    weight = density * GRAVITY / tension
    sides = [(0.010, 20, 15), (0.010, 35, 15), (0.008, 20, 30), (0.008, 30, 25)]

    def held(p):
        shapes = [under(p, math.radians(w), math.radians(f), weight) for _, w, f in sides]
        return shapes, sum(length * s[2] + math.pi / 2 * s[3] for (length, _, _), s in zip(sides, shapes))

    pressure = brentq(lambda p: held(p)[1] - volume, -4000, -400, xtol=1e-9)
    return pressure * tension, [(1e6 * s[0], 1e6 * s[1]) for s in held(pressure)[0]]


def rows():
    """What the table calls a reference of this file."""
    weight = 1700 * GRAVITY / 0.03
    number = {"underfill-fillet-quarter-circle": quad(lambda x: 1 - math.sqrt(1 - (1 - x) ** 2), 0, 1, epsabs=1e-13)[0]}
    for name, height in (("low", 3e-4), ("high", 1.2e-3)):
        pressure, width, area, moment = of_height(height, math.radians(20), math.radians(15), weight)
        number[f"underfill-fillet-{name}-pressure-pa"] = 0.03 * pressure
        number[f"underfill-fillet-{name}-width-mm"], number[f"underfill-fillet-{name}-area-mm2"] = 1e3 * width, 1e6 * area
        number[f"underfill-fillet-{name}-moment-mm3"] = 1e9 * moment
    pressure, sides = uneven()
    number["underfill-fillet-uneven-pressure-pa"] = pressure
    for name, (height, width) in zip(("left", "right", "bottom", "top"), sides):
        number[f"underfill-fillet-uneven-{name}-height-um"], number[f"underfill-fillet-uneven-{name}-width-um"] = height, width
    return number


def test_an_arc_comes_out_without_weight():
    wall, foot = 0.4, 0.3
    pressure, width, _, _ = of_height(1e-3, wall, foot, 0.0)
    radius = 1e-3 / (math.cos(foot) - math.sin(wall))
    assert abs(pressure * radius + 1) < 1e-8 and abs(width / radius - math.cos(wall) + math.sin(foot)) < 1e-8
