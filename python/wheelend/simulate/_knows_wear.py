"""Posterior of the wear of one unit: Gauss-Newton in the exposure of each block and the makeup of each tire.

In these coordinates the common wear of a tire is a sum of exposures, bent by a known curve: the posterior is near
normal. Derivatives are differences of one batch of paths per tire.
"""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import TYPE_CHECKING

import numpy as np

from wheelend.simulate._knows_use import Exposure
from wheelend.simulate._process import Process
from wheelend.simulate._wear import ONE_SIDED, OUTSIDE, depth_after

if TYPE_CHECKING:
    import numpy.typing as npt

    Numbers = npt.NDArray[np.float64]
    Whole = npt.NDArray[np.int64]
    Yes = npt.NDArray[np.bool_]

_STEPS = 12
_HALVINGS = 6
_LEAST_SHARE = 0.01  # of a block's mean exposure
_SMALL = 1e-4  # difference for derivatives: of logs and 32nds
_CORRECTIONS = 2
_FAR_LEFT = -30.0
_CLOSE = 1e-3  # of the standard error of every number: the search ends there
EFFECT, STRENGTH, NEW, WORN, SHOULDER, MOULD = 0, 1, 2, 3, 4, slice(5, 8)  # places in a tire's makeup
MAKEUP = 8


@dataclass(frozen=True)
class Stay:
    """A tire on a unit, from when it came to when it left, rotations within the unit included.

    ``first`` and ``last`` are its edges, ``place`` its position at the end, ``in_use`` whether that is as_of. Of each
    block between them ``axle``, ``log_rate`` (middle tire, state of the axle) and ``turned`` (the axle is out of line);
    ``first_axle`` is there for a tire that came on the last day. ``mean`` and ``sd`` of its makeup before it was read:
    effect, log strength, new depth, worn at its first edge, log shoulder, mould.
    """

    first: int
    last: int
    place: int
    in_use: bool
    first_axle: int
    axle: Whole
    log_rate: Numbers
    turned: Yes
    mean: Numbers
    sd: Numbers
    read_at: Whole  # edges, counted from `first`
    read: Numbers  # by reading and groove, the reader's bias taken off
    looked_at: Whole  # edges at which somebody looked whether it should go
    pulled: Yes  # and had it pulled
    threshold: Numbers


@dataclass(frozen=True)
class UnitRecord:
    """All that is known of a unit: its stays, and its exposures before any tire was read."""

    stays: list[Stay]
    axles: int
    exposure: Exposure


@dataclass(frozen=True)
class Layout:
    """Places of a unit's numbers in one vector.

    Own shares of the blocks, what the blocks share, the unit, its axles, their one-sided wear and what that gains, and
    the tires.
    """

    blocks: int
    axles: int
    stays: int

    @property
    def shared(self) -> int:
        """What the exposures of all blocks share."""
        return self.blocks

    @property
    def unit(self) -> int:
        """The unit's own wear."""
        return self.blocks + 1

    @property
    def axle(self) -> slice:
        """The axles' own wear."""
        return slice(self.unit + 1, self.unit + 1 + self.axles)

    @property
    def line(self) -> slice:
        """One-sided wear of the axles."""
        return slice(self.axle.stop, self.axle.stop + self.axles)

    @property
    def gained(self) -> slice:
        """What it gains where an axle goes out of line."""
        return slice(self.line.stop, self.line.stop + self.axles)

    def tire(self, stay: int) -> slice:
        """Makeup of the tire of a stay."""
        start = int(self.gained.stop) + stay * MAKEUP
        return slice(start, start + MAKEUP)

    @property
    def size(self) -> int:
        """Numbers in all."""
        return int(self.tire(self.stays).start)


@dataclass(frozen=True)
class TirePath:
    """Common depth and one-sided wear at each edge of a stay, by draw, and what the grooves need beside them."""

    common: Numbers
    one_sided: Numbers
    makeup: Numbers

    def depths(self) -> Numbers:
        """Depths by draw, edge and groove; below zero where a tire would be through."""
        new = self.makeup[:, NEW, None]
        outside = np.exp(self.makeup[:, SHOULDER, None]) * np.maximum(new - self.common, 0.0) ** 2 / new
        return np.asarray(
            self.common[..., None]
            + self.makeup[:, None, MOULD]
            - ONE_SIDED * self.one_sided[..., None]
            - OUTSIDE * outside[..., None],
            float,
        )


def path_of(curve: str, stay: Stay, layout: Layout, index: int, mean: Numbers, values: Numbers) -> TirePath:
    """Path of the tire of a stay; `mean` exposures of the blocks, `values` has one row per draw."""
    makeup = values[:, layout.tire(index)]
    blocks = slice(stay.first, stay.last)
    exposure = mean[blocks] * _shares(values[:, blocks])
    of_all = values[:, [layout.shared]] + values[:, [layout.unit]] + makeup[:, [EFFECT]]
    wear = np.cumsum(exposure * np.exp(of_all + stay.log_rate + values[:, layout.axle][:, stay.axle]), axis=1)
    wear = np.concatenate([np.zeros((len(values), 1)), wear], axis=1)
    new, worn = makeup[:, [NEW]], makeup[:, [WORN]]
    common = depth_after(curve, new - worn, new, np.exp(makeup[:, [STRENGTH]]), wear)
    line = values[:, layout.line][:, stay.axle] + np.where(stay.turned, values[:, layout.gained][:, stay.axle], 0.0)
    gained = np.cumsum(line * (common[:, :-1] - common[:, 1:]), axis=1)
    at_first = values[:, layout.line][:, [stay.first_axle]] * worn
    return TirePath(common, np.concatenate([at_first, at_first + gained], axis=1), makeup)


def _shares(own: Numbers) -> Numbers:
    """Exposure of blocks against their mean: so large that no wear grows back."""
    return np.maximum(1 + own, _LEAST_SHARE)


@dataclass(frozen=True)
class Tangent:
    """Depths read of one stay as straight functions of the numbers ``at``, near the mode: values and slopes."""

    at: Whole
    depths: Numbers
    slopes: Numbers


class WearOfUnit:
    """Posterior of a unit's numbers: ``mode``, and draws."""

    def __init__(self, process: Process, record: UnitRecord, reading_variance: float) -> None:
        """Find the most likely numbers by Gauss-Newton steps that are halved until they help."""
        self.process, self.record, self.variance = process, record, reading_variance
        self.layout = Layout(len(record.exposure.mean), record.axles, len(record.stays))
        self._mean, self._precision = self._before()
        self.mode = self._mean
        misfit = self._misfit(self.mode)
        for _ in range(_STEPS):
            gradient = self._linearise()
            step = np.asarray(np.linalg.solve(self._hessian, gradient), float)
            tried, now = self._halved(step, misfit)
            moved = np.abs(tried - self.mode) * np.sqrt(np.diag(self._hessian))
            self.mode, misfit = tried, now
            if moved.max() < _CLOSE:
                break
        self._linearise()

    def path(self, stay: int, values: Numbers) -> TirePath:
        """Path of the tire of a stay; `values` has one row per draw."""
        record = self.record
        return path_of(self.process.curve, record.stays[stay], self.layout, stay, record.exposure.mean, values)

    def draw(self, draws: int, rng: np.random.Generator) -> Numbers:
        """Draws, one per row: normal about the mode, then put right for the bend of the depths.

        A draw of the normal approximation solves the straight problem for readings and mean with errors of their own;
        the correction solves the bent one for the same errors (randomise, then optimise).
        """
        triangle = np.linalg.cholesky(self._hessian)
        straight = self.mode + np.linalg.solve(triangle.T, rng.standard_normal((len(self.mode), draws))).T
        values = straight
        for _ in range(_CORRECTIONS):
            bend = np.zeros_like(straight)
            for i, tangent in self._tangents.items():
                read = self.path(i, values).depths()[:, self.record.stays[i].read_at].reshape(draws, -1)
                off = (values - self.mode)[:, tangent.at] @ tangent.slopes
                bend[:, tangent.at] += (read - tangent.depths - off) @ tangent.slopes.T / self.variance
            values = straight - np.linalg.solve(self._hessian, bend.T).T
        return np.asarray(values, float)

    def _before(self) -> tuple[Numbers, Numbers]:
        """Mean and precision of the numbers before the tires were read."""
        p, layout, exposure = self.process, self.layout, self.record.exposure
        mean, sd = np.zeros(layout.size), np.ones(layout.size)
        sd[layout.shared] = np.sqrt(exposure.shared_variance)
        sd[layout.unit] = p.unit_sd
        sd[layout.axle] = p.axle_sd
        sd[layout.line] = p.one_sided_sd
        sd[layout.gained] = p.out_of_line_one_sided_sd
        for i, stay in enumerate(self.record.stays):
            mean[layout.tire(i)], sd[layout.tire(i)] = stay.mean, stay.sd
        precision = np.diag(sd**-2.0)
        precision[: layout.blocks, : layout.blocks] = np.linalg.inv(exposure.covariance)
        return mean, precision

    def _halved(self, step: Numbers, misfit: float) -> tuple[Numbers, float]:
        for half in range(_HALVINGS):
            tried = self.mode + step / 2**half
            now = self._misfit(tried)
            if now < misfit:
                return tried, now
        return self.mode, misfit

    def _linearise(self) -> Numbers:
        """Tangents and second derivatives at the mode so far; gives the gradient."""
        gradient = self._precision @ (self._mean - self.mode)
        self._hessian = self._precision.copy()
        self._tangents: dict[int, Tangent] = {}
        for i, stay in enumerate(self.record.stays):
            if not len(stay.read_at) and not len(stay.looked_at):
                continue
            at, depths, slopes = self._slopes(i)
            tangent = Tangent(at, depths[stay.read_at].ravel(), slopes[:, stay.read_at].reshape(len(at), -1))
            groove = depths[stay.looked_at].argmin(axis=1)
            first, second = self._looked(stay, depths[stay.looked_at, groove])
            of_looks = slopes[:, stay.looked_at, groove]
            gradient[at] += tangent.slopes @ (stay.read.ravel() - tangent.depths) / self.variance + of_looks @ first
            of_reading = tangent.slopes @ tangent.slopes.T / self.variance
            self._hessian[np.ix_(at, at)] += of_reading + (of_looks * second) @ of_looks.T
            self._tangents[i] = tangent
        return np.asarray(gradient, float)

    def _slopes(self, index: int) -> tuple[Whole, Numbers, Numbers]:
        """Which numbers a stay depends on, its depths, and their derivatives (by number, edge and groove)."""
        stay, layout = self.record.stays[index], self.layout
        blocks = np.arange(stay.first, stay.last)
        tire = np.arange(layout.tire(index).start, layout.tire(index).stop)
        axles = np.unique(stay.axle)
        lines = np.concatenate([layout.line.start + axles, layout.gained.start + axles])
        moved = np.concatenate([blocks, tire[[STRENGTH, NEW, WORN, SHOULDER]], lines])
        batch = np.tile(self.mode, (len(moved) + 1, 1))
        batch[np.arange(1, len(moved) + 1), moved] += _SMALL
        depths = self.path(index, batch).depths()
        slopes = (depths[1:] - depths[0]) / _SMALL
        of_blocks = slopes[: len(blocks)] * _shares(self.mode[blocks])[:, None, None]  # by the log of each exposure
        of_all = of_blocks.sum(axis=0)
        of_axles = [of_blocks[stay.axle == a].sum(axis=0)[None] for a in axles]
        of_mould = np.broadcast_to(np.eye(3)[:, None, :], (3, *of_all.shape))
        common = [layout.shared, layout.unit, tire[EFFECT]]
        at = np.concatenate([moved, common, layout.axle.start + axles, tire[MOULD]])
        return at, depths[0], np.concatenate([slopes, [of_all] * 3, *of_axles, of_mould])

    def _looked(self, stay: Stay, shallowest: Numbers) -> tuple[Numbers, Numbers]:
        """First derivative, and minus the second, of the log chance that a tire was pulled or kept at these depths."""
        sign, sd = np.where(stay.pulled, -1.0, 1.0), self.process.pull_sd_32nds
        z = sign * (shallowest - stay.threshold) / sd
        ratio = _hazard(z)
        return sign * ratio / sd, ratio * (z + ratio) / sd**2

    def _misfit(self, value: Numbers) -> float:
        """Minus the log of the posterior, but for a constant."""
        from_mean = value - self._mean
        total = float(from_mean @ self._precision @ from_mean) / 2
        for i, stay in enumerate(self.record.stays):
            depths = self.path(i, value[None, :]).depths()[0]
            total += float(((stay.read - depths[stay.read_at]) ** 2).sum()) / (2 * self.variance)
            away = depths[stay.looked_at].min(axis=1) - stay.threshold
            z = np.where(stay.pulled, -1.0, 1.0) * away / self.process.pull_sd_32nds
            total -= sum(_log_chance_below(x) for x in z.tolist())
        return total if math.isfinite(total) else math.inf


def _hazard(z: Numbers) -> Numbers:
    """Density over distribution function of the standard normal."""
    log_density = -0.5 * z**2 - 0.5 * math.log(2 * math.pi)
    return np.asarray(np.exp(log_density - np.array([_log_chance_below(x) for x in z.tolist()])), float)


def _log_chance_below(x: float) -> float:
    """Log of the standard normal distribution function; far out on the left by its first term."""
    if x > _FAR_LEFT:
        return math.log(0.5 * math.erfc(-x / math.sqrt(2)))
    return -0.5 * x * x - math.log(-x * math.sqrt(2 * math.pi))
