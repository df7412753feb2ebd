"""Which components a profile holds: none, one, two or three vibrations, and a steady ripple."""

from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray
from scipy import special

from scoring.ripple.components import Component, Damped, Steady, Track, heights_mm
from scoring.ripple.fit import (
    Fit,
    Problem,
    Solution,
    covariance,
    evaluate,
    misfit,
    refine,
    ripple_light,
    slope_gain,
    start,
)
from scoring.ripple.grid import (
    MAX_FREQUENCY_HZ,
    MAX_MODES,
    MAX_WAVELENGTH_MM,
    MIN_FREQUENCY_HZ,
    Grid,
)
from scoring.ripple.pencil import propose_vibrations

SLOW_WAVELENGTH_MM = 12.0
LEAST_DAMPING, MOST_DAMPING = 0.008, 0.35
"""Outside these a component is no ring-down: it stands in for something else."""

MOST_CANCELLING = 4.0
"""Envelopes may sum up to so much more than the largest height."""

FALSE_ALARM = 1e-5
"""Chance of taking noise for a component, before the number of places looked at is counted."""

REFERENCE_WAVELENGTHS_MM, REFERENCE_DAMPING = (3.0, 9.0), 0.05
"""The ripples, an ordinary one and a slow one, of which the smallest findable size is told."""

NEAR_WAVES = 1.4
"""Ripples whose wavelengths differ by less are hard to tell apart."""

INDEPENDENT_MM = 0.5
"""Residuals nearer to each other than this go together: texture, line spread, coding."""

SLOW_MM, LEAST_SLOW_CODES, FAINT_SLOW_CODES, FAINT_FALSE_ALARM = 6.0, 0.1, 0.3, 1e-7
"""Waves so long that change light by less than the first share of an 8-bit code are no vibration:
an uneven wall, lamp or lens may do as much. Up to the second they must stand out of the noise by
more (of 2700 faces of noise those of two did at a chance of 1e-5, none at 1e-6), and are no steady
ripple: belt teeth and motor steps make shorter ones."""

FITTED_LOW, LEAST_GAIN = 1.1, 1e-9
"""The baseline takes a tenth of such waves; a face without any response to slope shows none."""

CREEPING = 1e-4
"""Share of the cost under which a step creeps; a hopeless component is then given up."""

MOVED_ANYWAY, FAR_FROM_NOISE = 0.01, 4.0
"""While the misfit is so many times the noise more components are to come, and the next will move
this one anyway: below such a share of the cost a step is then the last."""

LOST = 8.0
"""A misfit so many times the noise is seldom light's own (very steep ripples leave up to 24): the
search by one component at a time may have gone astray, and all are sought at once."""

HELD_EXPONENT_SD, FREED_EXPONENT_SD = 1e-4, 0.02
"""How far the response's exponent may move from the facets', during the search and at its end."""

MOST_SEARCHES, RIPPLED_EXPONENT = 4, 0.03
"""A ripple that changes the exponent that the facets ask for by more was found with a wrong one.
Most take two or three searches then, the largest lasting ripples tried four."""

MISSED = 0.05
"""How often a ripple of just the detection limit goes unfound (ISO 11843 asks for both chances)."""

BELT_PITCH_MM = 2.0
"""Common practice, no source; the steady ripple that its detection limit is quoted for."""


@dataclass(frozen=True)
class Detection:
    """The chosen fit to ``problem``, its covariance, and the smallest ripples that would be found.

    ``facet_exponent`` is the response's exponent that the facets alone ask for, 1 where calibration
    and facets agree.
    """

    problem: Problem
    fit: Fit
    covariance: NDArray[np.float64]
    facet_exponent: float

    @property
    def solution(self) -> Solution:
        """The chosen solution."""
        return self.fit.solution

    def just_found(self) -> tuple[Damped, ...]:
        """Vibrations that would just be found, of several wavelengths, one at the least.

        Near a ripple that was found no limit can be told; where all are near, all are told.
        """
        track = self.problem.track
        found = [_wave_mm(track, c) for c in self.solution.components]
        free = [w for w in REFERENCE_WAVELENGTHS_MM if not any(_lie_near(w, f) for f in found)]
        speed = float(track.speed_mm_s.max())
        trials = [
            Damped(speed / wave_mm, REFERENCE_DAMPING, 1e-3, 0.0)
            for wave_mm in free or REFERENCE_WAVELENGTHS_MM
        ]
        return tuple(replace(t, a_mm=_limit(self.problem, self.fit, t)) for t in trials)

    @property
    def steady_limit_mm(self) -> float:
        """The amplitude of a steady ripple that would be found, meant where there is none."""
        return _limit(self.problem, self.fit, Steady(BELT_PITCH_MM, 1e-3, 0.0))


def find_components(problem: Problem) -> Detection:
    """Add components while each is established by the scatter between strips.

    Each round projects a grid of damped vibrations and steady ripples on what is left (the
    maximum-likelihood search for one component), refits everything together, and keeps the new
    component if its amplitude's Wald statistic, from the strips' own scatter, could hardly come
    from noise. None at all is a normal answer. Where much is left unexplained all vibrations are
    sought at once as well, and the better of both is taken. Where the ripple still lives on the
    facets, and they ask for another exponent without it, all is sought anew with that, until they
    agree.
    """
    level = start(problem)
    fit = _search(problem, level)
    for _ in range(MOST_SEARCHES - 1 if fit.solution.components else 0):
        plain = problem.log_light - ripple_light(problem, fit.solution)
        without_ripple = start(replace(problem, log_light=plain)).solution
        if abs(without_ripple.exponent - level.solution.exponent) < RIPPLED_EXPONENT:
            break
        level = evaluate(problem, without_ripple)
        fit = _search(problem, level)
    facet_exponent = level.solution.exponent
    problem = replace(problem, exponent=facet_exponent, exponent_sd=FREED_EXPONENT_SD)
    fit = refine(problem, fit)
    return Detection(problem, fit, covariance(problem, fit), facet_exponent)


def _search(problem: Problem, level: Fit) -> Fit:
    """All components beside ``level``, whose exponent is held."""
    # While ripples are still missing from the model their misfit must not bend the response.
    problem = replace(problem, exponent=level.solution.exponent, exponent_sd=HELD_EXPONENT_SD)
    grid = Grid.over(problem)
    fit = _add_components(problem, grid, level)
    if _unexplained(problem, fit) > LOST:
        for modes in range(1, MAX_MODES + 1):
            anew = refine(
                problem, _with(problem, level, *propose_vibrations(problem, level, modes))
            )
            if _in_range(problem, anew) and _is_component(problem, level, anew):
                rival = _add_components(problem, grid, anew)
                if misfit(problem, rival)[0] < misfit(problem, fit)[0] / 2:
                    fit = rival
    return fit


def _add_components(problem: Problem, grid: Grid, fit: Fit) -> Fit:
    """``fit`` with all components that are established beside its own."""
    slow_hz = float(problem.track.speed_mm_s.max()) / SLOW_WAVELENGTH_MM
    while len(fit.solution.components) < MAX_MODES + 1:
        candidate = grid.best(problem, fit)
        if candidate is None:
            break
        grown = _grow(problem, fit, candidate)
        if not _in_range(problem, grown):
            both = _with_second(problem, grid, fit, candidate)
            grown = _grow(problem, fit, *both)
            if not _in_range(problem, grown):
                # It ran off to stand in for the baseline: look among the shorter waves only.
                if not any(isinstance(c, Damped) and c.frequency_hz <= slow_hz for c in both):
                    break
                grid = grid.without_below(slow_hz)
                continue
        if not _is_component(problem, fit, grown):
            break
        fit = grown
    return fit


def _grow(problem: Problem, fit: Fit, *more: Component) -> Fit:
    noise = np.count_nonzero(problem.weight)

    def may_stop(grown: Fit, share: float) -> bool:
        if share < CREEPING:
            return not (_in_range(problem, grown) and _explains(problem, fit, grown))
        if share > MOVED_ANYWAY or misfit(problem, grown)[0] < FAR_FROM_NOISE * noise:
            return False
        return _in_range(problem, grown) and _is_component(problem, fit, grown)

    return refine(problem, _with(problem, fit, *more), may_stop=may_stop)


def _with(problem: Problem, fit: Fit, *more: Component) -> Fit:
    solution = fit.solution
    return evaluate(problem, replace(solution, components=(*solution.components, *more)))


def _with_second(
    problem: Problem, grid: Grid, fit: Fit, candidate: Component
) -> tuple[Component, ...]:
    """``candidate`` and a second one, for modes so strong that one alone runs astray.

    The second is sought beside the first as the grid has it. The first comes back alone where
    there is no room or nothing for a second.
    """
    if len(fit.solution.components) >= MAX_MODES:
        return (candidate,)
    second = grid.best(problem, _with(problem, fit, candidate))
    return (candidate, second) if second else (candidate,)


def _is_component(problem: Problem, before: Fit, after: Fit) -> bool:
    return _explains(problem, before, after) and _established(problem, after)


def _in_range(problem: Problem, fit: Fit) -> bool:
    """Whether every vibration stayed within the wavelengths that were looked for.

    Vibrations much larger than what they add up to stand in for each other: out of range as well.
    """
    track, modes = problem.track, fit.solution.modes
    envelopes = sum(c.envelope_mm for c in modes)
    if envelopes > MOST_CANCELLING * np.abs(heights_mm(modes, track)).max():
        return False
    slowest = max(MIN_FREQUENCY_HZ, float(track.speed_mm_s.max()) / MAX_WAVELENGTH_MM)
    return all(
        0.8 * slowest < c.frequency_hz < 1.2 * MAX_FREQUENCY_HZ
        and LEAST_DAMPING < c.damping_ratio < MOST_DAMPING
        for c in modes
    )


def _explains(problem: Problem, before: Fit, after: Fit) -> bool:
    """Whether the new components stand out of the misfit of the mean, not only of the strips.

    Misfit beyond the strips' scatter is smooth, so it is counted by independent stretches, not by
    columns; and what rides on a vibration ten times its size at twice or thrice its frequency is
    that one's own harmonic.
    """
    left = [misfit(problem, fit) for fit in (before, after)]
    taken = sum(left[0]) - sum(left[1])
    components, known = after.solution.components, len(before.solution.components)
    parameters = sum(len(c.shape()) + 2 for c in components[known:])
    step = float(problem.track.u_mm[1] - problem.track.u_mm[0])
    scale = 1 + (_unexplained(problem, after) - 1) * INDEPENDENT_MM / step
    if special.chdtrc(parameters, taken / scale) > FALSE_ALARM:
        return False
    return not any(
        c.envelope_mm < _slow_envelopes_mm(problem, after, c)[0]
        or any(_is_harmonic(c, of) for of in components[:known])
        for c in components[known:]
    )


def _unexplained(problem: Problem, fit: Fit) -> float:
    """The misfit of the mean over what the strips' scatter makes of it; 1 where it is no more."""
    return max(misfit(problem, fit)[0] / np.count_nonzero(problem.weight), 1.0)


def _slow_envelopes_mm(problem: Problem, fit: Fit, component: Component) -> tuple[float, float]:
    """The envelopes below which a wave as long as the ``component``'s is none, and is faint.

    Both 0 for short ones.
    """
    wave_mm = _wave_mm(problem.track, component)
    if wave_mm <= SLOW_MM:
        return 0.0, 0.0
    gain = max(float(np.median(np.abs(slope_gain(problem, fit.solution)))), LEAST_GAIN)
    a_code_mm = problem.log_a_code * wave_mm / (2 * np.pi * gain)
    faint_mm = FAINT_SLOW_CODES * a_code_mm
    return (LEAST_SLOW_CODES * a_code_mm if isinstance(component, Damped) else faint_mm), faint_mm


def _lie_near(one_mm: float, other_mm: float) -> bool:
    return max(one_mm, other_mm) < NEAR_WAVES * min(one_mm, other_mm)


def _wave_mm(track: Track, component: Component) -> float:
    """The component's wavelength at cruise, or its period."""
    first = float(np.exp(component.shape()[0]))
    return float(track.speed_mm_s.max()) / first if isinstance(component, Damped) else first


def _is_harmonic(new: Component, of: Component) -> bool:
    if not (isinstance(new, Damped) and isinstance(of, Damped)):
        return False
    ratio = new.frequency_hz / of.frequency_hz
    near = min(abs(ratio - 2) / 2, abs(ratio - 3) / 3) < 0.08
    return near and new.envelope_mm < 0.1 * of.envelope_mm


def _established(problem: Problem, fit: Fit) -> bool:
    """Whether every component stands out of the scatter between strips (Hotelling's T^2)."""
    spread = covariance(problem, fit, shapes_known=True)
    strips = len(problem.log_light)
    for c, _, part in fit.solution.places():
        amplitude = np.array([c.a_mm, c.b_mm])
        wald = float(amplitude @ np.linalg.pinv(spread[part, part]) @ amplitude)
        f = wald * (strips - 2) / (2 * (strips - 1))
        faint = c.envelope_mm < _slow_envelopes_mm(problem, fit, c)[1]
        if special.fdtrc(2, strips - 2, f) > (FAINT_FALSE_ALARM if faint else FALSE_ALARM):
            return False
    return True


def _limit(problem: Problem, fit: Fit, trial: Component) -> float:
    """The envelope, in mm, at which ``trial``'s shape is established 95 times in 100.

    Where much of the light was left unexplained, as much ripple may be in it.
    """
    spread = covariance(problem, _with(problem, fit, trial), shapes_known=True)[-2:, -2:]
    sd_mm = float(np.sqrt(np.trace(spread) / 2 * _unexplained(problem, fit)))
    strips = len(problem.log_light)

    def found_from(chance: float, least_mm: float) -> float:
        wald = special.fdtri(2, strips - 2, 1 - chance) * 2 * (strips - 1) / (strips - 2)
        cut_mm = max(float(np.sqrt(wald)) * sd_mm, FITTED_LOW * least_mm)
        return cut_mm + float(special.ndtri(1 - MISSED)) * sd_mm

    least, faint = _slow_envelopes_mm(problem, fit, trial)
    return min(found_from(FALSE_ALARM, faint), found_from(FAINT_FALSE_ALARM, least))
