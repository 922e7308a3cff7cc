"""Solves the system of `columns.rs` by PyAMG and by hypre's BoomerAMG through PETSc, to the same residual.

Prints one table row a solver: name | seconds in all | steps. What is not installed is left out.
"""
import sys
import time

import numpy as np
import scipy.sparse as sp

folder = sys.argv[1]
read = lambda name, kind: np.fromfile(f"{folder}/{name}", dtype=kind)
right = read("right", np.float64)
n = right.size
matrix = sp.coo_matrix((read("values", np.float64), (read("rows", np.uint32), read("columns", np.uint32))), (n, n)).tocsr()
matrix.indices = matrix.indices.astype(np.int32)
matrix.indptr = matrix.indptr.astype(np.int32)
RESIDUAL = 1e-8


def told(name, seconds, steps, x):
    left = np.linalg.norm(right - matrix @ x) / np.linalg.norm(right)
    state = "" if left < 2 * RESIDUAL else f" (residual {left:.0e})"
    print(f"{name}{state} | {n * 1e-6:.2f} | {seconds:.2f} | {steps} |", flush=True)


def alone():
    """PyAMG, which knows one process."""
    import pyamg

    for name, make in [("PyAMG Ruge-Stüben", pyamg.ruge_stuben_solver), ("PyAMG smoothed aggregation", pyamg.smoothed_aggregation_solver)]:
        start = time.perf_counter()
        solver = make(matrix)
        residuals = []
        x = solver.solve(right, tol=RESIDUAL, accel="cg", maxiter=300, residuals=residuals)
        told(name, time.perf_counter() - start, len(residuals) - 1, x)


def ranks():
    """hypre, by as many ranks as there are; each has its rows."""
    from petsc4py import PETSc

    world = PETSc.COMM_WORLD
    first, past = (n * r // world.size for r in (world.rank, world.rank + 1))
    own = matrix[first:past]
    a = PETSc.Mat().createAIJ(size=((past - first, n), (past - first, n)), csr=(own.indptr, own.indices, own.data), comm=world)
    b = PETSc.Vec().createWithArray(right[first:past].copy(), size=(past - first, n), comm=world)
    x = b.duplicate()
    world.barrier()
    start = time.perf_counter()
    ksp = PETSc.KSP().create(world)
    ksp.setOperators(a)
    ksp.setType("cg")
    ksp.getPC().setType("hypre")
    ksp.getPC().setHYPREType("boomeramg")
    ksp.setNormType(PETSc.KSP.NormType.UNPRECONDITIONED)
    ksp.setTolerances(rtol=RESIDUAL, max_it=300)
    ksp.setUp()
    ksp.solve(b, x)
    seconds = time.perf_counter() - start
    a.mult(x, b)
    b.axpy(-1.0, PETSc.Vec().createWithArray(right[first:past].copy(), size=(past - first, n), comm=world))
    left = b.norm() / np.linalg.norm(right)
    if world.rank == 0:
        state = "" if left < 2 * RESIDUAL else f" (residual {left:.0e})"
        print(f"hypre BoomerAMG, {world.size} ranks{state} | {n * 1e-6:.2f} | {seconds:.2f} | {ksp.getIterationNumber()} |", flush=True)


try:
    from petsc4py import PETSc

    alone_too = PETSc.COMM_WORLD.size == 1
    ranks()
except ImportError:
    alone_too = True
if alone_too:
    try:
        alone()
    except ImportError:
        pass
