"""Pictures as numbers against scikit-image, scipy.ndimage and Pillow."""

import numpy
import pytest
import skimage
from PIL import Image
from scipy import ndimage


@pytest.fixture(scope="session")
def ask(answering):
    return answering("facedown-raster", "raster_json")


def task(name, values, **more):
    values = numpy.asarray(values, dtype=numpy.float32)
    return {"task": name, "width": values.shape[1], "values": values.ravel().tolist(), **more}


def blobs(seed, shape=(70, 90), sigma=2.5, share=0.35):
    field = ndimage.gaussian_filter(numpy.random.default_rng(seed).normal(size=shape), sigma)
    return field > numpy.quantile(field, 1 - share)


@pytest.mark.parametrize("sigma", [0.4, 1.0, 2.7, 40.0])
def test_smoothing_agrees_with_ndimage(ask, sigma):
    values = numpy.random.default_rng(3).random((31, 47), dtype=numpy.float32)
    (found,) = ask([task("gaussian", values, sigma=sigma)])
    expected = ndimage.gaussian_filter(values.astype(float), sigma, mode="reflect", truncate=4.0)
    assert numpy.reshape(found, values.shape) == pytest.approx(expected, abs=2e-7)


def test_otsu_agrees_with_skimage(ask):
    random = numpy.random.default_rng(5)
    pictures = [numpy.where(blobs(s), random.normal(0.7, 0.08, (70, 90)), random.normal(0.3, 0.05, (70, 90))) for s in range(6)]
    pictures = [p.astype(numpy.float32) for p in pictures]
    for found, values in zip(ask([task("otsu", p) for p in pictures]), pictures, strict=True):
        step = float(values.max() - values.min()) / 256
        # Bins of single against double precision may part differently by one.
        assert found == pytest.approx(skimage.filters.threshold_otsu(values.astype(float)), abs=1.01 * step)


@pytest.mark.parametrize("eight", [True, False])
def test_regions_agree_with_skimage(ask, eight):
    masks = [blobs(s, share=q) for s, q in enumerate([0.1, 0.3, 0.5, 0.7])]
    for found, mask in zip(ask([task("label", m, eight=eight) for m in masks]), masks, strict=True):
        labels = skimage.measure.label(mask, connectivity=2 if eight else 1)
        own = numpy.reshape(found["labels"], mask.shape)
        assert ((own > 0) == mask).all()
        expected = skimage.measure.regionprops(labels)
        assert len(found["regions"]) == len(expected)
        for region in expected:
            y, x = region.coords[0]
            number = own[y, x]
            assert (own[tuple(region.coords.T)] == number).all()
            ours = found["regions"][number - 1]
            top, left, bottom, right = region.bbox
            assert ours["area"] == region.area
            assert ours["bounds"] == [left, top, right - 1, bottom - 1]
            assert ours["centroid"] == pytest.approx(region.centroid[::-1], abs=1e-9)
            assert ours["diameter"] == pytest.approx(region.equivalent_diameter_area, rel=1e-12)
            assert ours["perimeter"] == pytest.approx(region.perimeter, rel=1e-9)


def test_holes_are_filled_as_ndimage_does(ask):
    masks = [blobs(s, share=0.6) for s in range(4)]
    for found, mask in zip(ask([task("fill", m) for m in masks]), masks, strict=True):
        assert (numpy.reshape(found, mask.shape) == ndimage.binary_fill_holes(mask)).all()


def test_lines_of_equal_grey_agree_with_find_contours(ask):
    fields = [ndimage.gaussian_filter(numpy.random.default_rng(s).normal(size=(40, 55)), 2.0).astype(numpy.float32) for s in range(4)]
    for found, field in zip(ask([task("contours", f, level=0.01) for f in fields]), fields, strict=True):
        expected = skimage.measure.find_contours(field.astype(float), 0.01)
        assert len(found) == len(expected)
        assert sum(line["closed"] for line in found) == sum((c[0] == c[-1]).all() for c in expected)
        ours = numpy.array(sorted(p for line in found for p in line["points"]))
        theirs = numpy.array(sorted({tuple(p[::-1]) for c in expected for p in c.tolist()}))
        assert len(ours) == len(theirs)
        for p in theirs:
            assert numpy.abs(ours - p).max(axis=1).min() < 1e-5


def test_the_surface_of_clean_pixels_agrees_with_lstsq(ask):
    y, x = numpy.mgrid[0:60, 0:80]
    values = 0.4 + 0.002 * x - 1e-3 * y + 2e-5 * x * y + numpy.random.default_rng(1).normal(0, 0.01, x.shape)
    (found,) = ask([task("surface", values, degree=2)])
    columns = numpy.stack([numpy.ones(x.size), x.ravel(), y.ravel(), x.ravel() ** 2, (x * y).ravel(), y.ravel() ** 2], 1)
    expected = columns @ numpy.linalg.lstsq(columns, values.ravel(), rcond=None)[0]
    # Biweights on normal noise move the surface by a small part of its own uncertainty (0.01 over the root of 4800 / 6).
    assert numpy.array(found) == pytest.approx(expected, abs=2e-4)


@pytest.mark.parametrize(
    ("mode", "name", "options"),
    [
        ("L", "a.png", {}),
        ("RGB", "a.png", {}),
        ("RGBA", "a.png", {}),
        ("P", "a.png", {}),
        ("1", "a.png", {}),
        ("I;16", "a.png", {}),
        ("L", "a.jpg", {"quality": 92}),
        ("RGB", "a.jpg", {"quality": 92, "subsampling": 0}),
        ("RGB", "a.jpg", {"quality": 92, "subsampling": 2, "progressive": True}),
    ],
)
def test_files_read_as_pillow_reads_them(ask, tmp_path, mode, name, options):
    random = numpy.random.default_rng(9)
    smooth = ndimage.gaussian_filter(random.random((50, 70, 4)), (3, 3, 0))
    smooth = (smooth - smooth.min()) / (smooth.max() - smooth.min())
    if mode == "I;16":
        picture = Image.fromarray((smooth[..., 0] * 65535).astype(numpy.uint16))
    else:
        picture = Image.fromarray((smooth * 255).astype(numpy.uint8), "RGBA")
        picture = picture if mode == "RGBA" else picture.convert("RGB").convert(mode)
    path = tmp_path / name
    picture.save(path, **options)
    (found,) = ask([{"task": "read", "path": str(path)}])
    ours = numpy.reshape(found["values"], (50, 70))
    with Image.open(path) as again:
        if mode == "I;16":
            expected = numpy.asarray(again).astype(float) / 65535
        else:
            colours = numpy.asarray(again.convert("RGBA")).astype(float) / 255
            expected = colours[..., :3] @ [0.2126, 0.7152, 0.0722]
            expected = expected * colours[..., 3] + 1 - colours[..., 3]
    # Decoders of JPEG may round each colour, and fill in halved ones, differently.
    allowed = 1e-6 if name.endswith("png") else (0.012 if options.get("subsampling") == 2 else 0.006)
    assert numpy.abs(ours - expected).max() < allowed
