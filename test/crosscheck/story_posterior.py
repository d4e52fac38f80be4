"""The posterior of a night without mistakes, computed another way than the project does: every model is enumerated.

Usage: story_posterior.py MOUNT.json NIGHT.csv [--without 3,7]        (prints JSON)
       story_posterior.py --many < LINES      (a line: ["MOUNT.json", "NIGHT.csv", [rows left out]]; prints a line each)

What the fit holds (DEVELOPERS.md, "The fit"): zeros and polar terms free; cone, squareness and three sags under normal
priors; eccentricities, scales, play, steps at the meridian, creep and settling each there or not; a smooth residue of
unknown amplitude; errors perhaps larger than stated. Here all 3^11 models of what is there (not; with the stated width;
with three times it) are enumerated for each amplitude of the residue and each scale of the errors, in the space of the
data (the residue as a covariance, not as columns). What is linear is integrated in closed form.

Linear in the columns about the solution: the partial derivatives are differences of the rigorous model at the mean of the
posterior, which a second pass starts from. For errors of a degree that is good to far less than a tenth of a sigma.

Choices where the words leave one:
- The time of creep and settling runs from -1 at the first used sighting to 0 at the last: zeros and pole are as at the last,
  the rates are the change over the night.
- The two polar rates are there together, with one width; so are sine and cosine of one encoder's eccentricity.
- The mixture of widths (70 % as stated, 30 % three times) is for what may be there or not; the five other priors are plain.
- Play: the column is +-1 times the half of the play; direction by the approach columns, else by the reading's change from
  the row before (as an angle, to half a turn); none at the first row. The prior is normal, of either sign.
- The step at the meridian takes the sign of the sine of the axis's own hour angle.
- The scale of the errors: ln s half normal, s >= 1; it multiplies what is known of a sighting, not priors nor residue.
- The residue: two fields of one amplitude a, one for each axis, with covariance a^2 (0.6 k1 + 0.4 k2): k1 the Legendre
  series of exp(-(1 - cos g) / 0.8^2) to degree 5, on the sky west and north; k2 the cosine series of
  exp(-2 sin^2(d / 2) / 0.6^2) in the hour angle, harmonics 1 to 4, on the readings (so times cos D to the west); each
  scaled to a variance of 1.
- What is quoted keeps doubts: in means and covariances each group is there with at least 0.7 of its chance before the night
  (KEPT), by the least change of the models' weights. The probabilities told are those of the posterior itself.
- Free columns have a flat prior; the evidence is that of what is orthogonal to them (restricted likelihood).
"""

import argparse
import json
import sys

import numpy as np
from scipy.optimize import least_squares, minimize
from scipy.special import eval_legendre, ive

import polewright_model as pm

FREE = ["hourAngleZero", "declinationZero", "polarAltitude", "polarEast"]
ALWAYS = list(pm.PRIOR_ARCMIN)
WIDE, WIDE_SHARE = 3.0, 0.3
# Names, tolerance's key, its default (1 sigma of the value that is reported), chance of being there.
GROUPS = [
    (["hourAngleEccentricSin", "hourAngleEccentricCos"], "eccentricity", 1.0, 0.25),
    (["declinationEccentricSin", "declinationEccentricCos"], "eccentricity", 1.0, 0.25),
    (["polarAltitudeRate", "polarEastRate"], None, 2.0, 0.15),
    (["hourAngleScale"], "scale", 1.0, 0.06),
    (["declinationScale"], "scale", 1.0, 0.06),
    (["hourAngleBacklash"], "backlash", 1.5, 0.15),
    (["declinationBacklash"], "backlash", 1.5, 0.15),
    (["hourAngleMeridianStep"], "meridianStep", 1.0, 0.2),
    (["declinationMeridianStep"], "meridianStep", 1.0, 0.2),
    (["hourAngleCreep"], None, 4.0, 0.05),
    (["declinationCreep"], None, 4.0, 0.05),
]
# On so many mounts both encoders are poor: then an eccentricity is there, and a scale, with these chances, wider with that.
POOR, POOR_ECCENTRICITY, POOR_SCALE, POOR_WIDE = 0.2, 0.8, 0.4, 0.5
# In means and covariances a cause acts with at least this part of its chance before the night.
KEPT = 0.7
MIXED = [name for names, *_ in GROUPS for name in names]
AMPLITUDES = [(0.0, 0.6)] + [(a, 0.08) for a in (0.06, 0.12, 0.25, 0.5, 1.0)]
LOG_SCALE_SIGMA, LOG_SCALE_STEP, LOG_SCALE_MOST = 0.5, 0.1, 2.2
SPHERE_LENGTH, HOUR_LENGTH, DEGREES, HARMONICS = 0.8, 0.6, 5, 4
SPHERE_SHARE, HOUR_SHARE = 0.6, 0.4
HOUR_ON_READINGS = True
# Models count in means and covariances, the likeliest first, until so much of the probability is left.
NEGLECTED = 2e-3
# A pair of amplitude and scale is passed over whose best model, by steps, has e^-this of the odds of the best pair's.
PASSED_OVER = 9.0

STARS = pm.read_stars()
FIND = pm.star_index(STARS)


class Night:
    """A night's numbers: directions, readings as angles, errors, time and approach."""

    def __init__(self, mount_path, night_path, without=()):
        self.mount = mount = pm.read_mount(mount_path)
        every = pm.read_night(night_path)
        axes = mount["readings"]
        used = [k for k in range(len(every)) if k + 1 not in set(without)]
        angles = {axis: pm.reading_angle([float(row[axis]) for row in every], axes[axis]) for axis in axes}
        rows = [every[k] for k in used]
        star = [
            FIND(row["star"])
            if row.get("star")
            else {
                "raDeg": float(row["raDeg"]), "decDeg": float(row["decDeg"]), "pmRaCosDecMasYr": 0.0, "pmDecMasYr": 0.0,
                "parallaxMas": 0.0, "radialVelocityKmS": 0.0,
            }
            for row in rows
        ]
        seconds = np.array([pm.seconds_of(row["time"]) for row in rows])
        self.latitude = mount["site"]["latitude"] * pm.DEGREE
        self.h, self.d, _ = pm.observed(star, seconds, mount["site"])
        self.read = {axis: angles[axis][used] for axis in axes}
        self.beyond = np.array([row.get("side") == "beyond" for row in rows])
        self.sigma = np.stack(np.broadcast_arrays(*pm.expected_errors(mount, self.d)))
        self.share = (seconds - seconds.max()) / max(1.0, np.ptp(seconds))
        self.approach = {axis: self._approach(axis, every, angles[axis])[used] for axis in axes}

    @staticmethod
    def _approach(axis, rows, angles):
        moved = np.concatenate([[0.0], np.sign(np.round(pm.wrap(np.diff(angles)), 12))])
        written = {"+": 1.0, "-": -1.0}
        return np.array([written.get(row.get(f"{axis}Approach"), moved[k]) for k, row in enumerate(rows)])

    def model(self, values):
        """Readings that values (radians by name) make, and the angles of the axes less zeros."""
        rates = {"polarAltitude": "polarAltitudeRate", "polarEast": "polarEastRate"}
        plain = {name: value for name, value in values.items() if name not in rates.values()}
        if any(values.get(rate, 0.0) for rate in rates.values()):
            # The axis moves: row by row.
            found = np.zeros((2, len(self.h)))
            for k, share in enumerate(self.share):
                here = {**plain, **{name: values.get(name, 0.0) + share * values.get(rate, 0.0) for name, rate in rates.items()}}
                found[:, k] = np.ravel(pm.readings(here, self.latitude, self.h[[k]], self.d[[k]], self.beyond[[k]]))
        else:
            found = np.array(pm.readings(plain, self.latitude, self.h, self.d, self.beyond))
        angle = {axis: found[k] - values.get(f"{axis}Zero", 0.0) for k, axis in enumerate(self.read)}
        side = np.sign(np.sin(angle["hourAngle"]))
        for k, axis in enumerate(self.read):
            found[k] += self.approach[axis] * values.get(f"{axis}Backlash", 0.0) / 2
            found[k] += side * values.get(f"{axis}MeridianStep", 0.0)
            found[k] += self.share * values.get(f"{axis}Creep", 0.0)
        return found, angle

    def residual(self, values):
        """Readings less the model's on the sky, west and north, in units of their errors."""
        found, angle = self.model(values)
        off = np.stack([pm.wrap(self.read[axis] - found[k]) for k, axis in enumerate(self.read)])
        off[0] *= np.abs(np.cos(angle["declination"]))
        return (off / self.sigma).ravel()

    def start_values(self):
        middle = np.where(self.beyond, np.pi - self.d, self.d)
        return {
            "hourAngleZero": circular_median(pm.wrap(self.read["hourAngle"] - self.h)),
            "declinationZero": circular_median(pm.wrap(self.read["declination"] - middle)),
        }

    def kernel(self):
        """Covariance of the residue of amplitude 1 arcminute, in units of the errors."""
        s = pm.star_vector(self.h, self.d)
        cos_gamma = np.clip(s.T @ s, -1, 1)
        # Legendre: exp(z x) = sum (2 l + 1) i_l(z) P_l(x), i_l the modified spherical Bessel function.
        z = 1 / SPHERE_LENGTH**2
        weight = np.array([(2 * l + 1) * ive(l + 0.5, z) for l in range(DEGREES + 1)])
        sphere = sum(w * eval_legendre(l, cos_gamma) for l, w in enumerate(weight / weight.sum()))
        # exp(-2 sin^2(d/2) / w^2) = exp(-z) exp(z cos d) = exp(-z) (I_0 + 2 sum I_m cos m d), z = 1 / w^2.
        z = 1 / HOUR_LENGTH**2
        weight = np.array([ive(m, z) for m in range(1, HARMONICS + 1)])
        apart = self.h[:, None] - self.h[None, :]
        hour = sum(w * np.cos(m * apart) for m, w in enumerate(weight / weight.sum(), 1))
        count = len(self.h)
        whole = np.zeros((2 * count, 2 * count))
        for k in range(2):
            cos_d = np.abs(np.cos(self.d)) if k == 0 and HOUR_ON_READINGS else np.ones(count)
            block = SPHERE_SHARE * sphere + HOUR_SHARE * hour * cos_d[:, None] * cos_d[None, :]
            whole[k * count : (k + 1) * count, k * count : (k + 1) * count] = (
                block * pm.ARCMINUTE**2 / (self.sigma[k][:, None] * self.sigma[k][None, :])
            )
        return whole


def circular_median(angles):
    mean = np.angle(np.exp(1j * angles).sum())
    return mean + np.median(pm.wrap(angles - mean))


def tolerance(mount, key, default):
    return (mount["tolerances"].get(key, default) if key else default) * pm.ARCMINUTE


def posterior(night, passes=2):
    """Means, standard deviations and covariance of all terms (arcminutes), chances of what is there."""
    mount = night.mount
    groups = [(names, tolerance(mount, key, default), chance) for names, key, default, chance in GROUPS]
    groups = [group for group in groups if group[1] > 0]
    always = [name for name in ALWAYS if mount["tolerances"][name] > 0]
    mixed = [name for names, *_ in groups for name in names]
    names = FREE + always + mixed
    width = {name: mount["tolerances"][name] * pm.ARCMINUTE for name in always}
    wide = {name: size for group, size, _ in groups for name in group}

    # Where to take the partial derivatives: all columns in, the mixed ones under their stated widths.
    held = {**width, **wide}
    start = night.start_values()

    def residuals(values):
        named = dict(zip(names, values))
        return np.concatenate([night.residual(named), [value / held[name] for name, value in named.items() if name in held]])

    found = least_squares(
        residuals, [start.get(name, 0.0) for name in names], x_scale=pm.ARCMINUTE, ftol=1e-12, xtol=1e-12, gtol=1e-10, max_nfev=60
    )
    centre = dict(zip(names, found.x))
    kernel = night.kernel()
    for _ in range(passes):
        result = about(night, centre, names, always, mixed, groups, width, kernel)
        centre = {name: value * pm.ARCMINUTE for name, value in result["terms"].items()}
    return result


def about(night, centre, names, always, mixed, groups, width, kernel):
    base = night.residual(centre)
    step = 0.5 * pm.ARCMINUTE
    columns = np.stack(
        [
            (night.residual({**centre, name: centre[name] - step}) - night.residual({**centre, name: centre[name] + step})) / (2 * step)
            for name in names
        ],
        axis=1,
    ) * pm.ARCMINUTE
    at = np.array([centre[name] for name in names]) / pm.ARCMINUTE
    free = len(FREE)
    kept = free + len(always)
    # Priors are about nothing: the data are the residual as from all terms nothing but for the free ones.
    at[:free] = 0
    data = base + columns @ at
    penalty = np.concatenate([np.zeros(free), [(pm.ARCMINUTE / width[name]) ** 2 for name in always]])

    scales = np.exp(np.arange(0, LOG_SCALE_MOST + 1e-9, LOG_SCALE_STEP))
    log_scale_prior = -0.5 * (np.log(scales) / LOG_SCALE_SIGMA) ** 2
    log_scale_prior[0] += np.log(0.5)
    log_scale_prior -= np.logaddexp.reduce(log_scale_prior)
    eigenvalues, vectors = np.linalg.eigh(kernel)
    turned_columns, turned_data = vectors.T @ columns, vectors.T @ data

    pairs = []
    for amplitude, chance in AMPLITUDES:
        for scale, log_prior in zip(scales, log_scale_prior):
            variance = scale**2 + amplitude**2 * np.maximum(eigenvalues, 0)
            scaled = turned_columns / variance[:, None]
            gram = turned_columns.T @ scaled
            right = scaled.T @ turned_data
            square = (turned_data**2 / variance).sum()
            own = gram[:kept, :kept] + np.diag(penalty)
            lift = np.linalg.solve(own, np.column_stack([gram[:kept, kept:], right[:kept]]))
            pairs.append(
                {
                    "amplitude": amplitude, "scale": scale, "own": own, "across": gram[:kept, kept:], "right": right[:kept],
                    "gram": gram[kept:, kept:] - gram[kept:, :kept] @ lift[:, :-1],
                    "u": right[kept:] - gram[kept:, :kept] @ lift[:, -1],
                    "log": np.log(chance) + log_prior
                    - 0.5 * (np.log(variance).sum() + np.linalg.slogdet(own)[1] + square - right[:kept] @ lift[:, -1]),
                }
            )

    # What each state of a group costs: not there, as stated, three times as wide.
    sizes = [len(group) for group, *_ in groups]
    options = [
        [(0.0, np.log(1 - chance)), (size / pm.ARCMINUTE, np.log(chance * (1 - WIDE_SHARE))), (WIDE * size / pm.ARCMINUTE, np.log(chance * WIDE_SHARE))]
        for _, size, chance in groups
    ]
    states = np.array(np.meshgrid(*[[0, 1, 2]] * len(groups), indexing="ij")).reshape(len(groups), -1).T

    # Pairs whose best model is without weight need no enumeration.
    rough = np.array([pair["log"] + greedy(pair["gram"], pair["u"], sizes, options) for pair in pairs])
    chosen = [k for k in range(len(pairs)) if rough[k] > rough.max() - PASSED_OVER]
    together = poor_encoders(groups, options, states)
    logs = np.stack([enumerate_models(pairs[k]["gram"], pairs[k]["u"], sizes, options) + pairs[k]["log"] + together for k in chosen])
    weights = np.exp(logs - logs.max())
    weights /= weights.sum()
    by_model = weights.sum(axis=0)
    told = weights
    weights = weights * kept_chances(by_model, groups, states)

    total = len(names)
    mean = np.zeros(total)
    second = np.zeros((total, total))
    flat = np.sort(weights[weights > 1e-9])[::-1]
    least = flat[min(len(flat) - 1, np.searchsorted(np.cumsum(flat), 1 - NEGLECTED))]
    spread = np.array([[option[0] for option in choice] for choice in options])
    group_of = np.repeat(np.arange(len(groups)), sizes)
    summed = 0.0
    for row, k in enumerate(chosen):
        models = np.flatnonzero(weights[row] >= least)
        if len(models) == 0:
            continue
        pair, share = pairs[k], weights[row][models]
        of_pair = share.sum()
        root = spread[group_of[None, :], states[models][:, group_of]]
        inner = np.eye(len(mixed)) + root[:, :, None] * pair["gram"] * root[:, None, :]
        inverse = np.linalg.inv(inner) * root[:, :, None] * root[:, None, :]
        means = inverse @ pair["u"]
        m = share @ means / of_pair
        c = (np.tensordot(share, inverse, 1) + (share[:, None] * means).T @ means) / of_pair - np.outer(m, m)
        own = np.linalg.inv(pair["own"])
        lift = -own @ pair["across"]
        full = np.concatenate([own @ pair["right"] + lift @ m, m])
        block = np.block([[own + lift @ c @ lift.T, lift @ c], [c @ lift.T, c]])
        mean += of_pair * full
        second += of_pair * (block + np.outer(full, full))
        summed += of_pair
    mean /= summed
    covariance = second / summed - np.outer(mean, mean)
    # The free terms were taken about the centre.
    mean[:free] += [centre[name] / pm.ARCMINUTE for name in FREE]

    by_pair = told.sum(axis=1)
    amplitudes = np.array([pairs[k]["amplitude"] for k in chosen])
    found_scales = np.array([pairs[k]["scale"] for k in chosen])
    mean_scale = float(by_pair @ found_scales)
    there = {name: float(by_model[states[:, g] > 0].sum()) for g, (group, *_) in enumerate(groups) for name in group}
    return {
        "terms": dict(zip(names, mean.tolist())),
        "uncertainties": dict(zip(names, np.sqrt(np.diag(covariance)).tolist())),
        "names": names,
        "covariance": covariance.tolist(),
        "probability": there,
        "residue": {"amplitudeArcmin": float(by_pair @ amplitudes), "probability": float(by_pair[amplitudes > 0].sum())},
        "errorScale": {"value": mean_scale, "uncertainty": float(np.sqrt(max(0.0, by_pair @ found_scales**2 - mean_scale**2)))},
    }


def poor_encoders(groups, options, states):
    """What the mixture with mounts of poor encoders adds to the log odds of each model."""
    usual = np.zeros(len(states))
    poor = np.zeros(len(states))
    for k, (group, _, _) in enumerate(groups):
        there = POOR_ECCENTRICITY if "Eccentric" in group[0] else POOR_SCALE if "Scale" in group[0] else None
        if there is None:
            continue
        usual += np.array([log for _, log in options[k]])[states[:, k]]
        poor += np.log([1 - there, there * (1 - POOR_WIDE), there * POOR_WIDE])[states[:, k]]
    return np.logaddexp(np.log(1 - POOR) + usual, np.log(POOR) + poor) - usual


def kept_chances(by_model, groups, states):
    """Factors of the models' weights: the weights nearest to the posterior, in relative entropy, in which each group is there
    with at least KEPT of its chance before the night. The dual problem (a multiplier a group, none below 0) is convex."""
    before = np.array([chance_of(group, chance) for group, _, chance in groups])
    there = (states > 0).astype(float)
    logs = np.log(np.maximum(by_model, 1e-300))

    def dual(multipliers):
        tilted = logs + there @ multipliers
        most = tilted.max()
        weights = np.exp(tilted - most)
        total = weights.sum()
        return most + np.log(total) - multipliers @ (KEPT * before), weights @ there / total - KEPT * before

    found = minimize(dual, np.zeros(len(groups)), jac=True, bounds=[(0, None)] * len(groups), method="L-BFGS-B", options={"gtol": 1e-6, "ftol": 1e-14})
    return np.exp(there @ found.x - found.fun - found.x @ (KEPT * before))


def chance_of(group, chance):
    """How often a group is there, whatever the mount."""
    poor = POOR_ECCENTRICITY if "Eccentric" in group[0] else POOR_SCALE if "Scale" in group[0] else chance
    return (1 - POOR) * chance + POOR * poor


def greedy(gram, u, sizes, options):
    """The log weight of a good model: nothing there, then the group that helps most, until none helps."""
    edges = np.cumsum([0] + sizes)
    state = [0] * len(sizes)

    def weight(state):
        root = np.concatenate([np.full(size, options[g][state[g]][0]) for g, size in enumerate(sizes)])
        active = np.flatnonzero(root)
        inner = np.eye(len(active)) + root[active][:, None] * gram[np.ix_(active, active)] * root[active][None, :]
        right = root[active] * u[active]
        prior = sum(choice[k][1] for choice, k in zip(options, state))
        return prior - 0.5 * np.linalg.slogdet(inner)[1] + 0.5 * right @ np.linalg.solve(inner, right)

    best = weight(state)
    while True:
        changes = [state[:g] + [k] + state[g + 1 :] for g in range(len(edges) - 1) for k in range(3) if k != state[g]]
        logs = [weight(change) for change in changes]
        if max(logs) <= best:
            return best
        best, state = max(logs), changes[int(np.argmax(logs))]


def enumerate_models(gram, u, sizes, options):
    """Log weights of all models, group by group: each group's columns are integrated out in each of its states."""
    grams, us, logs = gram[None], u[None], np.zeros(1)
    for size, choice in zip(sizes, options):
        parts = [[], [], []]
        rest = slice(size, None)
        for sigma, log in choice:
            if sigma == 0:
                new = grams[:, rest, rest], us[:, rest], logs + log
            else:
                across = np.concatenate([grams[:, :size, rest], us[:, :size, None]], axis=2)
                solved, log_determinant = solve_small(np.eye(size) + sigma**2 * grams[:, :size, :size], sigma**2 * across)
                lowered = np.einsum("nki,nkj->nij", across[:, :, :-1], solved)
                new = (
                    grams[:, rest, rest] - lowered[:, :, :-1],
                    us[:, rest] - lowered[:, :, -1],
                    logs + log - 0.5 * log_determinant + 0.5 * (us[:, :size] * solved[:, :, -1]).sum(axis=1),
                )
            for part, piece in zip(parts, new):
                part.append(piece)
        # The state of the group that comes last changes fastest.
        grams, us, logs = (np.stack(part, axis=1).reshape(len(part) * len(part[0]), *part[0].shape[1:]) for part in parts)
    return logs


def solve_small(matrices, rights):
    """Solutions and log determinants of many systems of one or two equations."""
    if matrices.shape[1] == 1:
        return rights / matrices, np.log(matrices[:, 0, 0])
    a, b, d = matrices[:, 0, 0], matrices[:, 0, 1], matrices[:, 1, 1]
    determinant = a * d - b * b
    inverse = np.stack([np.stack([d, -b], axis=1), np.stack([-b, a], axis=1)], axis=1) / determinant[:, None, None]
    return np.einsum("nij,njk->nik", inverse, rights), np.log(determinant)


def main():
    if "--many" in sys.argv:
        for line in sys.stdin:
            mount, night, *without = json.loads(line)
            print(json.dumps(posterior(Night(mount, night, *without))), flush=True)
        return
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("mount")
    parser.add_argument("night")
    parser.add_argument("--without", default="")
    given = parser.parse_args()
    found = posterior(Night(given.mount, given.night, [int(k) for k in given.without.split(",") if k]))
    del found["covariance"], found["names"]
    print(json.dumps(found, indent=2))


if __name__ == "__main__":
    main()
