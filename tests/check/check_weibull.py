"""The Weibull fit against R's package survival (survreg, interval-censored) and against a search.

R is another implementation by other people: parameters, log-likelihood, covariance, quantiles and
the ends of the median's 80 % interval must agree to 1e-4 relative on random sets. Where ours says
that no best life exists, a search over a wide field of parameters must find none inside that is
better than on its border; where it says there is one, none better anywhere. Skipped without R
(apt-get install r-base-core r-cran-survival; BL_RSCRIPT names another Rscript).
"""
import math
import os
import pathlib
import random
import subprocess
import sys
import tempfile

TOOL = pathlib.Path(os.environ["BL_BUILD"]) / "tests" / "weibull_tool"
RSCRIPT = os.environ.get("BL_RSCRIPT", "Rscript")
SETS = 400
LIMIT = 1e-4

R = r"""
suppressPackageStartupMessages(library(survival)); options(warn = -1)
all <- read.csv(commandArgs(TRUE)[1], header = FALSE, col.names = c("set", "lo", "hi", "w"))
for (i in unique(all$set)) {
  d <- all[all$set == i, ]
  m <- try(survreg(Surv(lo, hi, type = "interval2") ~ 1, d, weights = w, dist = "weibull",
    control = survreg.control(maxiter = 500, rel.tolerance = 1e-12)), silent = TRUE)
  if (inherits(m, "try-error")) { cat(i, "\n"); next }
  q <- predict(m, data.frame(x = 1), type = "quantile", p = c(.1, .5, .9))
  v <- vcov(m)
  u <- predict(m, data.frame(x = 1), type = "uquantile", p = .5, se.fit = TRUE)
  ends <- exp(u$fit + c(-1, 1) * qnorm(.9) * u$se.fit)
  cat(i, sprintf("%.12g", c(coef(m), log(m$scale), m$loglik[2], v[1, 1], v[1, 2], v[2, 2], q, ends)), "\n")
}
"""


def life_of(chance, scale, shape):
    return scale * chance.weibullvariate(1, shape)


def observe(chance, life, scale, manner):
    """(lo, hi) as this manner of looking sees the life."""
    if manner == "mixed":
        manner = chance.choice(("once", "looks", "exact", "until"))
    if manner == "exact":
        return life, life
    if manner == "until":
        end = scale * chance.uniform(0.3, 1.8)
        return (life, life) if life <= end else (end, math.inf)
    looks = sorted(scale * chance.uniform(0.05, 2.2)
                   for _ in range(1 if manner == "once" else chance.randrange(2, 8)))
    lo = max([look for look in looks if look < life], default=0)
    hi = min([look for look in looks if look >= life], default=math.inf)
    return lo, hi


def random_set(chance, least=5, most=60):
    scale = math.exp(chance.uniform(math.log(2), math.log(3000)))
    shape = math.exp(chance.uniform(math.log(0.5), math.log(8)))
    manner = chance.choice(("once", "looks", "looks", "mixed", "until"))
    weights = (1,) if chance.random() < 0.6 else (1, 2, 3, 7)
    return [(*observe(chance, life_of(chance, scale, shape), scale, manner),
             chance.choice(weights)) for _ in range(chance.randrange(least, most))]


def ours(sets):
    text = "".join("".join(f"{lo!r} {hi!r} {w}\n" for lo, hi, w in lives) + "\n" for lives in sets)
    done = subprocess.run([TOOL], input=text, text=True, check=True, stdout=subprocess.PIPE)
    answers = [line.split() for line in done.stdout.splitlines()]
    assert len(answers) == len(sets), f"{len(answers)} answers to {len(sets)} sets"
    return [(int(words[0]), [float(word) for word in words[1:]]) for words in answers]


def by_r(sets, answers):
    """Set number -> R's figures."""
    def field(value):
        return "NA" if math.isinf(value) or value == 0 else repr(value)

    with tempfile.TemporaryDirectory() as folder:
        rows = pathlib.Path(folder) / "sets.csv"
        rows.write_text("".join(
            f"{i},{field(lo)},{field(hi)},{w}\n"
            for i, lives in enumerate(sets) if answers[i][0] == 0 for lo, hi, w in lives))
        script = pathlib.Path(folder) / "fit.R"
        script.write_text(R)
        done = subprocess.run([RSCRIPT, "--vanilla", script, rows], text=True, check=True,
                              stdout=subprocess.PIPE)
    lines = [line.split() for line in done.stdout.splitlines()]
    return {int(words[0]): [math.nan if word == "NA" else float(word) for word in words[1:]]
            for words in lines}


NAMES = ("ln scale", "ln sigma", "log-likelihood", "v11", "v12", "v22", "t10", "t50", "t90", "from",
         "to")


def away(name, got, want, figures):
    """How far apart, relative: a covariance to its variances, a logarithm as what it is one of."""
    if name in ("ln scale", "ln sigma"):
        return abs(math.expm1(got - want))
    if name == "v12":
        return abs(got - want) / math.sqrt(figures[3] * figures[5])
    return abs(got - want) / max(abs(want), 1e-300)


def came_to_its_maximum(theirs, figures):
    """R stops by the log-likelihood, so where that is flat (an error of ln sigma over 10) it stops
    anywhere."""
    return (theirs and not any(map(math.isnan, theirs)) and theirs[3] > 0
            and 0 < theirs[5] < 100 and theirs[2] >= figures[2] - 1e-6)


def compare_with_r(sets):
    answers = ours(sets)
    theirs = by_r(sets, answers)
    worst = dict.fromkeys(NAMES, 0.0)
    wrong = compared = 0
    for i, (found, figures) in enumerate(answers):
        want = theirs.get(i)
        if found != 0 or not came_to_its_maximum(want, figures):
            continue
        compared += 1
        apart = {name: away(name, got, value, want)
                 for name, got, value in zip(NAMES, figures, want)}
        for name, value in apart.items():
            worst[name] = max(worst[name], value)
        if max(apart.values()) > LIMIT or want[2] > figures[2] + 1e-6:
            wrong += 1
            print(f"set {i}: ours {figures}, R {want}: {sets[i]}")
    fitted = sum(found == 0 for found, _ in answers)
    print(f"R: {compared} of {fitted} fits compared (of {len(sets)} sets), {wrong} wrong;"
          " largest difference "
          + ", ".join(f"{name} {value:.1e}" for name, value in worst.items()))
    assert compared >= 200 and compared >= 0.95 * fitted, "too few to call it checked"
    return wrong


def likelihood(lives, mu, sigma):
    total = 0.0
    for lo, hi, w in lives:
        u1 = math.exp(min((math.log(lo) - mu) / sigma, 600)) if lo > 0 else 0.0
        u2 = math.exp(min((math.log(hi) - mu) / sigma, 600)) if hi < math.inf else math.inf
        if lo == hi:
            p = math.exp(-u1) * u1 / (sigma * lo)
        else:
            p = math.exp(-u1) * -math.expm1(-(u2 - u1)) if u2 > u1 else 0.0
        if p <= 0:
            return -math.inf
        total += w * math.log(p)
    return total


def best_on_field(lives):
    """(value, whether none inside is better than on the border) over a field of parameters: ln
    sigma from -12 to 9, ln scale at and between all known ends, far outside, and around them by
    what is a step at that sigma."""
    known = sorted({math.log(t) for lo, hi, _ in lives for t in (lo, hi) if 0 < t < math.inf})
    places = known + [(a + b) / 2 for a, b in zip(known, known[1:])]
    inside = border = -math.inf
    for step in range(-24, 19):
        sigma = math.exp(step / 2)
        fine = 1000 if step == 18 else 4
        around = [known[len(known) // 2] + sigma * k / fine for k in range(-4 * fine, 4 * fine)]
        far = [known[0] - 20 - 20 * sigma, known[-1] + 20 + 20 * sigma]
        here = max(likelihood(lives, mu, sigma) for mu in places + around)
        if step in (-24, 18):
            border = max(border, here)
        else:
            inside = max(inside, here)
        border = max(border, *(likelihood(lives, mu, sigma) for mu in far))
    return max(inside, border), border >= inside - 1e-9


def compare_with_search(chance, count):
    """Small sets, where a best life often does not exist."""
    sets = [random_set(chance, 2, 7) for _ in range(count)]
    wrong = 0
    verdicts = {}
    for lives, (found, figures) in zip(sets, ours(sets)):
        verdicts[found] = verdicts.get(found, 0) + 1
        if found == 1:
            continue
        best, border = best_on_field(lives)
        bad = best > figures[2] + 1e-9 if found == 0 else not border
        if bad:
            wrong += 1
            print(f"search: verdict {found}, {figures}, best {best}, border {border}: {lives}")
    print(f"search: {count} small sets, verdicts {dict(sorted(verdicts.items()))}, {wrong} wrong")
    assert len(verdicts) >= 5, "not every verdict was met"
    return wrong


def main():
    try:
        subprocess.run([RSCRIPT, "--vanilla", "-e", "library(survival)"], check=True,
                       stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL)
    except (OSError, subprocess.CalledProcessError):
        print("skipped: R with survival is missing (apt-get install r-base-core r-cran-survival)")
        return 77
    seed = int(os.environ.get("BL_SEED", random.randrange(1 << 32)))
    print(f"BL_SEED={seed}")
    chance = random.Random(seed)
    wrong = compare_with_r([random_set(chance) for _ in range(SETS)])
    wrong += compare_with_search(chance, 400)
    return 1 if wrong else 0


if __name__ == "__main__":
    sys.exit(main())
