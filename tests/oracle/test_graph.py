"""Assignment, flows, matchings and chords against scipy and networkx on random inputs."""

import itertools

import networkx
import numpy
import pytest
import scipy
from scipy.optimize import linear_sum_assignment
from scipy.sparse import csr_matrix
from scipy.sparse.csgraph import maximum_bipartite_matching


@pytest.fixture(scope="session")
def solve(answering):
    return answering("facedown-graph", "graph_json")


def test_dense_assignment_agrees_with_scipy(solve):
    random = numpy.random.default_rng(1)
    shapes = [(1, 1), (1, 9), (9, 1), (7, 7), (20, 31), (31, 20), (60, 64), (120, 120)]
    matrices = [random.integers(-50, 1000, shape).astype(float) for shape in shapes for _ in range(3)]
    matrices += [random.random(shape) for shape in shapes]
    answers = solve([{"assign": matrix.tolist()} for matrix in matrices])
    for matrix, answer in zip(matrices, answers, strict=True):
        rows, columns = linear_sum_assignment(matrix)
        assert answer["total"] == pytest.approx(matrix[rows, columns].sum(), rel=1e-12, abs=1e-9)
        assert answer["bound"] == pytest.approx(answer["total"], rel=1e-9, abs=1e-9)


def ring(count, side):
    """Pads around a square, and a square array of at least as many bumps inside."""
    along = (numpy.arange(count // 4) + 0.5) * side / (count // 4)
    edge = numpy.full(along.shape, 0.01 * side)
    pads = numpy.concatenate(
        [
            numpy.stack([along, edge], 1),
            numpy.stack([side - edge, along], 1),
            numpy.stack([along, side - edge], 1),
            numpy.stack([edge, along], 1),
        ]
    )
    steps = (numpy.arange(int(numpy.ceil(count**0.5))) + 0.5) * side / numpy.ceil(count**0.5)
    return pads, numpy.stack(numpy.meshgrid(steps, steps), -1).reshape(-1, 2)


def test_assignment_of_points_agrees_with_scipy(solve):
    random = numpy.random.default_rng(2)
    cases = [(random.random((n, 2)) * 5000, random.random((m, 2)) * 5000) for n, m in [(300, 300), (500, 800), (700, 260)]]
    cases += [ring(240, 4000.0), ring(600, 9000.0)]
    answers = solve([{"assign_points": [rows.tolist(), columns.tolist()]} for rows, columns in cases])
    for (rows, columns), answer in zip(cases, answers, strict=True):
        costs = numpy.linalg.norm(rows[:, None] - columns[None], axis=2)
        i, j = linear_sum_assignment(costs)
        assert answer["total"] == pytest.approx(costs[i, j].sum(), rel=1e-12)
        assert answer["bound"] == pytest.approx(answer["total"], rel=1e-9)


def test_bottleneck_agrees_with_a_search_over_scipy_matchings(solve):
    random = numpy.random.default_rng(3)
    matrices = [random.integers(0, 200, (n, m)).astype(float) for n, m in [(3, 3), (8, 11), (25, 25), (40, 60)] for _ in range(3)]
    answers = solve([{"bottleneck": matrix.tolist()} for matrix in matrices])
    for matrix, answer in zip(matrices, answers, strict=True):
        levels = numpy.unique(matrix)
        complete = [
            level
            for level in levels
            if (maximum_bipartite_matching(csr_matrix(matrix <= level), perm_type="column") >= 0).all()
        ]
        assert answer["largest"] == complete[0]


def random_network(random, nodes, arcs):
    ends = [tuple(int(x) for x in random.choice(nodes, 2, replace=False)) for _ in range(arcs)]
    # networkx keeps one arc between two nodes, so the input has one too.
    return [(a, b, int(random.integers(0, 30)), int(random.integers(0, 40))) for a, b in dict.fromkeys(ends)]


def test_flows_agree_with_networkx(solve):
    random = numpy.random.default_rng(4)
    networks = [(n, random_network(random, n, m)) for n, m in [(4, 8), (10, 30), (30, 120), (80, 400)] for _ in range(5)]
    graphs = [{"nodes": n, "source": 0, "sink": n - 1, "arcs": arcs} for n, arcs in networks]
    most = solve([{"maximum_flow": graph} for graph in graphs])
    cheapest = solve([{"min_cost_maximum_flow": graph} for graph in graphs])
    for (n, arcs), largest, best in zip(networks, most, cheapest, strict=True):
        graph = networkx.DiGraph()
        graph.add_nodes_from(range(n))
        graph.add_edges_from((a, b, {"capacity": u, "weight": c}) for a, b, u, c in arcs)
        value = networkx.maximum_flow_value(graph, 0, n - 1)
        assert largest["value"] == best["value"] == value
        flow = networkx.max_flow_min_cost(graph, 0, n - 1)
        assert best["cost"] == networkx.cost_of_flow(graph, flow)


def escape_graph(n, sides):
    """Tiles between n x n pads, each side of a tile passing `sides`; outside is the sink."""
    graph = networkx.DiGraph()

    def tile(r, c):
        return ("tile", r, c) if 0 <= r < n - 1 and 0 <= c < n - 1 else "sink"

    def join(a, b, capacity):
        before = graph.get_edge_data(a, b, {"capacity": 0})["capacity"]
        graph.add_edge(a, b, capacity=before + capacity)

    for r, c in itertools.product(range(n), range(n)):
        graph.add_edge("source", ("pad", r, c), capacity=1)
        for tr, tc in itertools.product((r - 1, r), (c - 1, c)):
            join(("pad", r, c), tile(tr, tc), 1)
    for r, c in itertools.product(range(n - 1), range(n - 1)):
        for tr, tc in ((r - 1, c), (r + 1, c), (r, c - 1), (r, c + 1)):
            join(tile(r, c), tile(tr, tc), sides)
    return graph


@pytest.mark.parametrize(("n", "sides", "expected"), [(10, 1, 72), (10, 2, 100), (12, 1, 88), (16, 3, 240), (20, 1.375, 180.5)])
def test_escape_maxima_of_the_shipped_table_are_those_of_networkx(n, sides, expected):
    assert networkx.maximum_flow_value(escape_graph(n, sides), "source", "sink") == expected


def test_matchings_agree_with_networkx(solve):
    random = numpy.random.default_rng(5)
    cases = []
    for left, right, edges in [(5, 5, 8), (20, 30, 60), (60, 50, 200)] * 3:
        cases.append((left, right, [[int(random.integers(left)), int(random.integers(right))] for _ in range(edges)]))
    answers = solve([{"matching": case} for case in cases])
    for (left, _right, edges), answer in zip(cases, answers, strict=True):
        graph = networkx.Graph()
        graph.add_nodes_from(range(left))
        graph.add_edges_from((l, ("right", r)) for l, r in edges)
        matching = networkx.bipartite.hopcroft_karp_matching(graph, top_nodes=range(left))
        assert answer["size"] == len(matching) // 2


def crossing_graph(chords):
    graph = networkx.Graph()
    graph.add_nodes_from(range(len(chords)))
    for i, j in itertools.combinations(range(len(chords)), 2):
        (a, b), (c, d) = sorted(chords[i]), sorted(chords[j])
        if a < c < b < d or c < a < d < b:
            graph.add_edge(i, j)
    return graph


def largest_clique(graph):
    return len(networkx.max_weight_clique(graph, weight=None)[0])


def test_chords_agree_with_networkx(solve):
    random = numpy.random.default_rng(6)
    cases = [random.permutation(2 * n).reshape(-1, 2).tolist() for n in [1, 3, 4, 6, 10, 16, 24] for _ in range(3)]
    cases += [[[1, 5], [2, 6], [3, 7], [4, 8]], [[1, 4], [2, 3], [5, 8], [6, 7]], [[1, 3], [2, 5], [4, 6]]]
    planar = solve([{"planar": case} for case in cases])
    pages = solve([{"two_pages": case} for case in cases])
    for case, subset, fit in zip(cases, planar, pages, strict=True):
        graph = crossing_graph(case)
        assert subset["size"] == largest_clique(networkx.complement(graph))
        assert fit["fit"] == networkx.is_bipartite(graph)
    assert [p["size"] for p in planar[-3:]] == [1, 4, 2]
    assert [p["fit"] for p in pages[-3:]] == [False, True, True]


def test_subsequences_agree_with_networkx(solve):
    random = numpy.random.default_rng(7)
    cases = [random.permutation(n).tolist() for n in [1, 2, 5, 9, 14, 20] for _ in range(3)]
    cases += [[3, 1, 4, 2, 5], [5, 4, 3, 2, 1]]
    longest = solve([{"longest_increasing": case} for case in cases])
    layers = solve([{"layers": case} for case in cases])
    for case, chain, cover in zip(cases, longest, layers, strict=True):
        rising = networkx.Graph()
        rising.add_nodes_from(range(len(case)))
        rising.add_edges_from((i, j) for i, j in itertools.combinations(range(len(case)), 2) if case[i] < case[j])
        assert chain["length"] == largest_clique(rising)
        assert cover["layers"] == largest_clique(networkx.complement(rising))
    assert [(a["length"], b["layers"]) for a, b in zip(longest[-2:], layers[-2:], strict=True)] == [(3, 2), (1, 5)]


def test_mean_excess_of_octilinear_over_straight_distance_is_the_shipped_value():
    def excess(t):
        return max(numpy.cos(t), numpy.sin(t)) + (2**0.5 - 1) * min(numpy.cos(t), numpy.sin(t))

    mean = scipy.integrate.quad(excess, 0, numpy.pi / 4)[0] / (numpy.pi / 4)
    assert mean == pytest.approx(1.054786175, rel=1e-9)
    assert excess(numpy.pi / 8) == pytest.approx(1.082392200, rel=1e-9)
