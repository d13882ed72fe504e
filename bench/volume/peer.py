"""Peers of bench/volume.ts: three ways from planes to a volume with scikit-image, and its contours of a field.

One JSON request a line on standard input, one JSON answer a line on standard output, until the input ends. Processor
time is this process's own, user and system; reading pictures is never in it, and the solvers run on one thread.

Way        threshold    grey below a fixed share of the sector's median, opened; the region that lies best; holes filled
           (Otsu's level parts tissue from brighter tissue on these pictures: it meets one set in 32)
           chan-vese    morphological Chan-Vese from that region, at 1 mm a pixel
           walker       random walker from the core of that region and from what lies well outside it, at 1 mm a pixel
Region     large, near the probe axis, little of its rim at the sector's edge, at the depth of the best one of all planes
Volume     by the sum of the layout over pixels, as a plane set's description states it; 0 when no region is found
Needs      scikit-image 0.19 or later with its numpy and scipy
"""
import json
import math
import os
import sys
import time
import warnings

for _threads in ("OPENBLAS_NUM_THREADS", "OMP_NUM_THREADS", "MKL_NUM_THREADS"):
    os.environ[_threads] = "1"

import numpy as np
import skimage
from scipy import ndimage
from skimage import filters, io, measure, morphology, segmentation, transform

warnings.simplefilter("ignore")

NEAR_FIELD_MM = 10.0
LEAST_AREA_MM2 = 30.0
OPENING_MM = 2.5
# The best of the shares from 0.2 to 0.78 on these very sets: the peer is not held down.
SHARE_OF_MEDIAN = 0.65
# Urine is darker than other dim regions: on these sets 0.22 of the median at most where there is a bladder above 30 mL.
DARKEST_SHARE = 0.35
WORKING_MM = 1.0
MARGIN_MM = 25.0
CORE_MM = 3.0
OUTSIDE_MM = 10.0
CHAN_VESE_STEPS = 60


class Plane:
    """A grey picture with the place of its pixels: s, d in mm; inside = in the sector."""

    def __init__(self, grey, geometry):
        self.grey = grey.astype(np.float32)
        scale, apex, sector = geometry["mm_per_px"], geometry["apex_px"], geometry["sector"]
        self.mm = (scale["y"], scale["x"])
        height, width = grey.shape
        self.s = (np.arange(width) - apex["x"])[None, :] * scale["x"] + np.zeros((height, 1))
        self.d = (np.arange(height) - apex["y"])[:, None] * scale["y"] + np.zeros((1, width))
        radius = np.hypot(self.s, self.d)
        angle = np.degrees(np.abs(np.arctan2(self.s, self.d)))
        self.inside = (
            (angle <= sector["half_angle_deg"]) & (radius >= sector["r_min_mm"]) & (radius <= sector["r_max_mm"])
        )
        self.usable = self.inside & (radius >= sector["r_min_mm"] + NEAR_FIELD_MM)


def position_of(layout, plane):
    if layout == "tilt_sweep":
        return plane["tilt_deg"]
    return plane["offset_mm"] if layout == "parallel_sweep" else plane["rotation_deg"]


def weights_of(layout, positions):
    """Angle (radians) or distance (mm) that each plane stands for: half the gap to each neighbour."""
    at = np.asarray(positions, float)
    gaps = np.diff(at)
    if layout == "rotational_fan":
        closing = 180.0 - (at[-1] - at[0])
        before, after = np.r_[closing, gaps], np.r_[gaps, closing]
    else:
        before, after = np.r_[gaps[0], gaps], np.r_[gaps, gaps[-1]]
    unit = 1.0 if layout == "parallel_sweep" else math.pi / 180
    return (before + after) / 2 * unit


class PlaneSet:
    def __init__(self, folder):
        with open(os.path.join(folder, "geometry.json"), encoding="utf-8") as file:
            geometry = json.load(file)
        self.layout = geometry["layout"]
        self.planes = [
            Plane(io.imread(os.path.join(folder, plane["file"]), as_gray=False), geometry)
            for plane in geometry["planes"]
        ]
        if self.layout != "two_orthogonal_planes":
            self.weights = weights_of(self.layout, [position_of(self.layout, one) for one in geometry["planes"]])

    def volume_ml(self, masks):
        if self.layout == "two_orthogonal_planes":
            if not all(mask.any() for mask in masks):
                return 0.0
            extent = lambda values: float(values.max() - values.min())
            (across, along) = zip(self.planes, masks)
            width = extent(across[0].s[across[1]]) + across[0].mm[1]
            length = extent(along[0].s[along[1]]) + along[0].mm[1]
            depth = extent(along[0].d[along[1]]) + along[0].mm[0]
            return math.pi / 6 * width * length * depth / 1000
        total = 0.0
        for weight, plane, mask in zip(self.weights, self.planes, masks):
            pixel = plane.mm[0] * plane.mm[1]
            if self.layout == "rotational_fan":
                moment = np.abs(plane.s[mask]).sum()
            else:
                moment = plane.d[mask].sum() if self.layout == "tilt_sweep" else mask.sum()
            total += weight * float(moment) * pixel
        return total / 1000


def smooth(plane):
    return filters.gaussian(plane.grey, sigma=[1.0 / mm for mm in plane.mm], preserve_range=True)


def regions_by_threshold(planes):
    """The region of each plane that is most likely the bladder (or an empty mask), and the smoothed planes."""
    smoothed = [smooth(plane) for plane in planes]
    usual = np.median(np.concatenate([one[plane.usable] for one, plane in zip(smoothed, planes)]))
    level = SHARE_OF_MEDIAN * usual
    offered = []
    for grey, plane in zip(smoothed, planes):
        pixel = plane.mm[0] * plane.mm[1]
        radius = max(1, round(OPENING_MM / math.sqrt(pixel)))
        dark = ndimage.binary_opening((grey < level) & plane.usable, morphology.disk(radius))
        labels = measure.label(dark)
        rim_outside = ndimage.binary_erosion(plane.usable, iterations=2)
        found = []
        for region in measure.regionprops(labels):
            area = region.area * pixel
            if area < LEAST_AREA_MM2:
                continue
            rows, columns = region.coords.T
            at_edge = (~rim_outside[rows, columns]).sum() / max(1.0, region.perimeter)
            s, d = plane.s[rows, columns].mean(), plane.d[rows, columns].mean()
            score = area * max(0.0, 1 - at_edge) ** 2 * math.exp(-((s / 30) ** 2) / 2)
            found.append((score, d, region.label))
        offered.append((labels, found))
    best = max((one for _, found in offered for one in found), default=None)
    masks = []
    for (labels, found), plane in zip(offered, planes):
        mask = np.zeros(labels.shape, bool)
        if best is not None and found:
            score, _, label = max((one[0] * math.exp(-(((one[1] - best[1]) / 25) ** 2) / 2), one[1], one[2]) for one in found)
            if score > 0:
                mask = ndimage.binary_fill_holes(labels == label)
        masks.append(mask)
    inside = [grey[mask] for grey, mask in zip(smoothed, masks) if mask.any()]
    if len(inside) < len(planes) / 3 or np.median(np.concatenate(inside)) > DARKEST_SHARE * usual:
        masks = [np.zeros_like(mask) for mask in masks]
    return masks, smoothed


def cut_out(plane, mask, grey):
    """Grey, region and sector at 1 mm a pixel around the region, and what puts a mask back."""
    rows, columns = np.where(mask)
    margin = [math.ceil(MARGIN_MM / mm) for mm in plane.mm]
    top, bottom = max(0, rows.min() - margin[0]), min(mask.shape[0], rows.max() + margin[0] + 1)
    left, right = max(0, columns.min() - margin[1]), min(mask.shape[1], columns.max() + margin[1] + 1)
    window = (slice(top, bottom), slice(left, right))
    size = (
        max(3, round((bottom - top) * plane.mm[0] / WORKING_MM)),
        max(3, round((right - left) * plane.mm[1] / WORKING_MM)),
    )
    shrink = lambda values: transform.resize(values.astype(np.float32), size, order=1, anti_aliasing=False, preserve_range=True)
    small = shrink(grey[window])
    inside = shrink(plane.inside[window]) > 0.5
    region = shrink(mask[window]) > 0.5

    def put_back(found):
        whole = np.zeros(mask.shape, bool)
        shape = (bottom - top, right - left)
        whole[window] = transform.resize(found.astype(np.float32), shape, order=1, anti_aliasing=False) > 0.5
        return whole & plane.inside

    return small, region, inside, put_back


def core_of(region):
    """What lies deeper than the core's distance inside; for a small region its deepest point."""
    deep = ndimage.distance_transform_edt(region)
    return deep >= min(CORE_MM / WORKING_MM, deep.max())


def connected_to(found, core):
    labels = measure.label(found)
    kept = np.unique(labels[core & found])
    return ndimage.binary_fill_holes(np.isin(labels, kept[kept > 0]))


def by_chan_vese(small, region, inside):
    grey = np.where(inside, small, small[inside & ~region].mean() if (inside & ~region).any() else small.mean())
    grey = grey / max(1.0, grey.max())
    found = segmentation.morphological_chan_vese(grey, CHAN_VESE_STEPS, init_level_set=region.astype(np.int8), smoothing=2) > 0
    return connected_to(found & inside, core_of(region))


def by_walker(small, region, inside):
    core = core_of(region)
    labels = np.zeros(small.shape, np.int32)
    labels[ndimage.distance_transform_edt(~region) > OUTSIDE_MM / WORKING_MM] = 2
    labels[~inside] = 2
    labels[core] = 1
    if not (labels == 2).any():
        return region
    grey = small / max(1.0, small.max())
    return connected_to(segmentation.random_walker(grey, labels, beta=130, mode="cg_j", tol=1e-3) == 1, core)


def refined(way, plane_set):
    masks, smoothed = regions_by_threshold(plane_set.planes)
    out = []
    for plane, mask, grey in zip(plane_set.planes, masks, smoothed):
        if not mask.any():
            out.append(mask)
            continue
        small, region, inside, put_back = cut_out(plane, mask, grey)
        out.append(put_back(way(small, region, inside)) if region.any() else mask)
    return out


WAYS = {
    "threshold": lambda plane_set: regions_by_threshold(plane_set.planes)[0],
    "chan-vese": lambda plane_set: refined(by_chan_vese, plane_set),
    "walker": lambda plane_set: refined(by_walker, plane_set),
}


def polygon_sums(points, about):
    """Signed area and ∫|x − about| dA of a closed ring of (y, x) points, by Green's theorem along its edges."""
    y, x = points[:, 0], points[:, 1] - about
    x0, x1, y0, y1 = x[:-1], x[1:], y[:-1], y[1:]
    area = (x0 * y1 - x1 * y0).sum() / 2
    passes = x0 * x1 < 0
    apart = np.where(passes, x0 - x1, 1.0)
    split = (np.abs(x0) ** 3 - np.abs(x1) ** 3) / apart
    alike = np.sign(x0 + x1) * (x0 * x0 + x0 * x1 + x1 * x1)
    return area, (np.where(passes, split, alike) * (y1 - y0)).sum() / 6


def contour_and_sums(field, level, about):
    contours = measure.find_contours(field, level)
    sums = [polygon_sums(one, about) for one in contours]
    return contours, sum(one[0] for one in sums), sum(one[1] for one in sums)


def answer(request, kept):
    wanted = request["do"]
    if wanted == "read":
        kept[request["folder"]] = PlaneSet(request["folder"])
        return {"planes": len(kept[request["folder"]].planes)}
    if wanted == "volume":
        plane_set = kept[request["folder"]]
        begun = time.process_time()
        volume = plane_set.volume_ml(WAYS[request["way"]](plane_set))
        return {"volumeMl": volume, "cpuMs": (time.process_time() - begun) * 1000}
    if wanted == "field":
        kept["field"] = np.fromfile(request["path"], np.float64).reshape(request["height"], request["width"])
        contours, area, moment = contour_and_sums(kept["field"], request["level"], request["about"])
        return {"contours": [one[:, ::-1].tolist() for one in contours], "area": float(area), "moment": float(moment)}
    begun = time.process_time()
    for _ in range(request["times"]):
        contour_and_sums(kept["field"], request["level"], request["about"])
    return {"cpuMs": (time.process_time() - begun) * 1000 / request["times"]}


def main():
    kept = {}
    print(json.dumps({"version": skimage.__version__}), flush=True)
    for line in sys.stdin:
        print(json.dumps(answer(json.loads(line), kept)), flush=True)


main()
