"""Follows the front of `front.rs` by FiPy: the same cells, the same steps, the same sets of full cells found the same way.

Reads from standard input, as JSON: count and step of the grid, per cell its conductance (gap times permeability), free volume
over area and drive, and the lengths of the steps; feeds lie along the left and the bottom edge. Prints seconds, time of filling,
solutions. FiPy makes the matrix of each solution and scipy solves it; the mesh and the reading are not counted.
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

pressure = CellVariable(mesh=mesh, value=0.0)
faces = FaceVariable(mesh=mesh, value=0.0)
pinned = CellVariable(mesh=mesh, value=0.0)
source = CellVariable(mesh=mesh, value=0.0)
pressure.constrain(0.0, where=mesh.facesLeft | mesh.facesBottom)
# Dry cells are held at what their menisci hold.
equation = DiffusionTerm(coeff=faces) - ImplicitSourceTerm(coeff=pinned) + source
solver = {"lu": LinearLUSolver, "pcg": LinearPCGSolver}[case.get("solver", "lu")]
solver = solver() if solver is LinearLUSolver else solver(tolerance=1e-9, iterations=2000)
HOLD = 1e6 * harmonic.max() / min(dx, dy) ** 2

fill, full = np.zeros(nx * ny), np.zeros(nx * ny, bool)
now, solutions = 0.0, 0
start = time.perf_counter()
for length in case["lengths"] + [case["lengths"][-1]] * 50:
    wet = full.copy()
    for turn in range(60):
        # No liquid between dry cells; faces beyond the edges belong to their cell.
        open_face = wet[first] | (wet[second] & inside)
        faces.setValue(np.where(open_face, harmonic, 0.0))
        pinned.setValue(np.where(wet, 0.0, HOLD))
        missing = room * (1 - fill) / length
        source.setValue(np.where(wet, -missing, -HOLD * drive))
        equation.solve(var=pressure, solver=solver)
        solutions += 1
        p = np.where(wet, pressure.value, -drive)
        t = harmonic * shape
        flow = np.where(inside & open_face, t * (p[first] - p[second]), 0.0)
        # A meniscus that is not drawn in stands still.
        flow = np.where(inside & wet[first] & ~wet[second], np.maximum(flow, 0), flow)
        flow = np.where(inside & ~wet[first] & wet[second], np.minimum(flow, 0), flow)
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
print(json.dumps([time.perf_counter() - start, now, solutions, int(full.sum())]))
