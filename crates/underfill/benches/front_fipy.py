"""Follows the front of `front.rs` by FiPy: the same cells, the same steps, the same sets of full cells found the same way.

Reads from standard input, as JSON: count and step of the grid, per cell its conductance (gap times permeability), free volume
over area and drive, and the lengths of the steps; feeds lie along the left and the bottom edge. With one drive everywhere no meniscus is
ever pulled back, so that none has to be held. Prints seconds of the processor, time of filling, solutions. FiPy makes the matrix of each solution and scipy solves it; the mesh and the reading are not counted.
"""
import json
import sys
import time

import numpy as np
from fipy import CellVariable, DiffusionTerm, FaceVariable, Grid2D, ImplicitSourceTerm
from fipy.solvers.scipy import LinearLUSolver, LinearPCGSolver

case = json.load(sys.stdin)
nx, ny = case["count"]
dx, dy = case["step"]
conductance, room, drive = (np.array(case[key]) for key in ("conductance", "room", "drive"))
mesh = Grid2D(nx=nx, ny=ny, dx=dx, dy=dy)
one, other = mesh.faceCellIDs[0], mesh.faceCellIDs[1]
inside = ~np.ma.getmaskarray(other)
first = np.asarray(one)
second = np.where(inside, np.ma.filled(other, 0), first)
harmonic = 2 * conductance[first] * conductance[second] / (conductance[first] + conductance[second])
shape = np.where(np.abs(mesh.faceNormals[0]) > 0.5, dy / dx, dx / dy)
fed = np.asarray((mesh.facesLeft | mesh.facesBottom).value)
area = dx * dy

# Pressures over the largest drive, conductances over their largest value: all rows are of one size.
scale, most = drive.max(), harmonic.max()
pressure = CellVariable(mesh=mesh, value=0.0)
faces = FaceVariable(mesh=mesh, value=0.0)
drawn = CellVariable(mesh=mesh, value=0.0)
source = CellVariable(mesh=mesh, value=0.0)
pressure.constrain(0.0, where=mesh.facesLeft | mesh.facesBottom)
# Menisci draw at what the dry cell ahead holds; dry cells are held at what their own holds.
equation = DiffusionTerm(coeff=faces) - ImplicitSourceTerm(coeff=drawn) + source
solver = {"lu": LinearLUSolver, "pcg": LinearPCGSolver}[case.get("solver", "lu")]
solver = solver() if solver is LinearLUSolver else solver(tolerance=1e-9, iterations=2000)

fill, full = np.zeros(nx * ny), np.zeros(nx * ny, bool)
now, solutions = 0.0, 0
start = time.process_time()
for length in case["lengths"] + [case["lengths"][-1]] * 50:
    wet = full.copy()
    for turn in range(60):
        # Liquid between wet cells; faces beyond the edges belong to their cell.
        both = wet[first] & (wet[second] | ~inside)
        menisci = inside & (wet[first] != wet[second])
        p = -drive
        if wet.any():
            faces.setValue(np.where(both, harmonic / most, 0.0))
            ahead, held = np.zeros(nx * ny), np.zeros(nx * ny)
            for own, to in ((first, second), (second, first)):
                at = menisci & wet[own]
                t = (harmonic * shape)[at] / most / area
                np.add.at(ahead, own[at], t)
                np.add.at(held, own[at], t * drive[to[at]] / scale)
            drawn.setValue(np.where(wet, ahead, 1 / area))
            missing = room * (1 - fill) / length / most / scale
            source.setValue(np.where(wet, -held - missing, -drive / scale / area))
            equation.solve(var=pressure, solver=solver)
            solutions += 1
            p = np.where(wet, pressure.value * scale, -drive)
        t = harmonic * shape
        flow = np.where(both & inside | menisci, t * (p[first] - p[second]), 0.0)
        gain = np.zeros(nx * ny)
        np.add.at(gain, first, -flow)
        np.add.at(gain, second, flow)
        np.add.at(gain, first[fed], 2 * (conductance[first] * shape)[fed] * np.where(wet[first], -p[first], drive[first])[fed])
        more = ~wet & (fill + length * gain / (room * area) > 1 + 1e-9)
        less = wet & ~full & (p < -drive * (1 + 1e-9))
        if not (more.any() or less.any()):
            break
        wet = (wet | more) & ~less
    fill = np.where(wet, 1.0, fill + length * gain / (room * area))
    now += length
    if wet.all():
        # The last cells fill at the rate of their pressure.
        last = ~full
        now -= length * (1 - (p / -drive)[last].max())
        break
    full = wet
print(json.dumps([time.process_time() - start, now, solutions, int(full.sum())]))
