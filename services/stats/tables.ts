// Tables of counts: does one group fail more than another, and is that more than chance.
import {
  chiSquareAbove,
  chiSquareQuantile,
  logChoose,
  normalAbove,
  normalQuantile,
} from './distributions.ts'
import { LEVEL, type Ranged } from './interval.ts'

/** Defective and good of two groups, counts. */
export interface FourCounts {
  badA: number
  goodA: number
  badB: number
  goodB: number
}

interface ExactTest {
  /** Chance of a table no likelier than this one, if the groups were alike. */
  twoSided: number
  /** Of A having no more, and no fewer. */
  less: number
  greater: number
  /** Conditional maximum-likelihood odds ratio of A over B. */
  odds: Ranged
}

/** Exact test of two groups with all margins held. Source: R. A. Fisher, The Design of Experiments (1935). */
export function exactTest({ badA, goodA, badB, goodB }: FourCounts, level = LEVEL): ExactTest {
  const [a, b, bad] = [badA + goodA, badB + goodB, badA + badB]
  const least = Math.max(0, bad - b)
  const most = Math.min(a, bad)
  const weights: number[] = []
  for (let k = least; k <= most; k++) weights.push(logChoose(a, k) + logChoose(b, bad - k))
  const at = badA - least
  const alike = chancesAt(weights, 0)
  // Ties differ by rounding only; 1e-7 is what R allows for (fisher.test, its documentation).
  const limit = alike[at]! * (1 + 1e-7)
  const tail = (level: number, from: number, to: number, logOdds: number) => {
    let sum = 0
    const chances = chancesAt(weights, logOdds)
    for (let i = from; i < to; i++) sum += chances[i]!
    return sum - level
  }
  const half = (1 - level) / 2
  const meanAt = (logOdds: number) =>
    chancesAt(weights, logOdds).reduce((sum, p, i) => sum + p * (least + i), 0) - badA
  return {
    twoSided: Math.min(
      1,
      alike.reduce((sum, p) => (p <= limit ? sum + p : sum), 0),
    ),
    less: Math.min(1, tail(0, 0, at + 1, 0)),
    greater: Math.min(1, tail(0, at, weights.length, 0)),
    odds: {
      value:
        badA === least ? 0 : badA === most ? Number.POSITIVE_INFINITY : Math.exp(rootOf(meanAt)),
      low: badA === least ? 0 : Math.exp(rootOf((g) => tail(half, at, weights.length, g))),
      high:
        badA === most
          ? Number.POSITIVE_INFINITY
          : Math.exp(rootOf((g) => -tail(half, 0, at + 1, g))),
    },
  }
}

/** Chances of each table when the odds ratio is e^logOdds. */
function chancesAt(weights: readonly number[], logOdds: number): number[] {
  const tilted = weights.map((w, i) => w + i * logOdds)
  const top = tilted.reduce((most, w) => Math.max(most, w), Number.NEGATIVE_INFINITY)
  const raw = tilted.map((w) => Math.exp(w - top))
  const all = raw.reduce((sum, w) => sum + w, 0)
  return raw.map((w) => w / all)
}

/** Where a rising function passes 0, by halving between e^-40 and e^40. */
function rootOf(rising: (logOdds: number) => number): number {
  let low = -40
  let high = 40
  for (let i = 0; i < 100; i++) {
    const middle = (low + high) / 2
    if (rising(middle) > 0) high = middle
    else low = middle
  }
  return (low + high) / 2
}

export interface ChiSquare {
  chiSquare: number
  df: number
  chanceAlone: number
}

/** Are k groups alike? Pearson's chi-square of their defective and good. */
export function alike(groups: readonly { castings: number; defective: number }[]): ChiSquare {
  const castings = groups.reduce((sum, g) => sum + g.castings, 0)
  const defective = groups.reduce((sum, g) => sum + g.defective, 0)
  const share = defective / castings
  let chiSquare = 0
  let df = -1
  for (const g of groups) {
    if (g.castings <= 0) continue
    df++
    if (share > 0 && share < 1)
      chiSquare += (g.defective - g.castings * share) ** 2 / (g.castings * share * (1 - share))
  }
  return { chiSquare, df, chanceAlone: df < 1 ? 1 : chiSquareAbove(chiSquare, df) }
}

/**
 * Least difference of two shares that tells them apart when all pairs are compared at once.
 * Source: Marascuilo procedure, NIST/SEMATECH e-Handbook 7.4.7.4.
 */
export function leastDifference(
  a: { castings: number; defective: number },
  b: { castings: number; defective: number },
  groups: number,
  level = LEVEL,
): number {
  const spread = (g: typeof a) =>
    ((g.defective / g.castings) * (1 - g.defective / g.castings)) / g.castings
  return Math.sqrt(chiSquareQuantile(level, groups - 1) * (spread(a) + spread(b)))
}

export interface Stratified {
  odds: Ranged
  /** Rate of A over rate of B with the mix of strata taken out; its interval by Greenland and Robins. */
  times: Ranged
  /** With continuity correction, one degree of freedom. */
  chiSquare: number
  chanceAlone: number
}

/**
 * Two groups compared inside strata and summed over them. Strata that have only one group say nothing
 * and drop out; undefined when none is left. `effect` divides what the counts are worth: the design
 * effect of castings that fail together.
 * Sources: Mantel and Haenszel, J. Natl. Cancer Inst. 22 (1959) 719; variance of the log odds ratio
 * Robins, Breslow and Greenland, Biometrics 42 (1986) 311; of the log rate ratio Greenland and Robins,
 * Biometrics 41 (1985) 55.
 */
export function mantelHaenszel(
  strata: readonly FourCounts[],
  effect = 1,
  correction = 0.5,
): Stratified | undefined {
  const use = strata.filter((s) => s.badA + s.goodA > 0 && s.badB + s.goodB > 0)
  let [r, s, pr, mixed, qs] = [0, 0, 0, 0, 0]
  let [above, below, spread] = [0, 0, 0]
  let [excess, variance] = [0, 0]
  for (const { badA, goodA, badB, goodB } of use) {
    const [a, b, bad, good] = [badA + goodA, badB + goodB, badA + badB, goodA + goodB]
    const n = a + b
    const [ri, si] = [(badA * goodB) / n, (goodA * badB) / n]
    const [pi, qi] = [(badA + goodB) / n, (goodA + badB) / n]
    r += ri
    s += si
    pr += pi * ri
    mixed += pi * si + qi * ri
    qs += qi * si
    above += (badA * b) / n
    below += (badB * a) / n
    spread += (a * b * bad - badA * badB * n) / (n * n)
    excess += badA - (a * bad) / n
    if (n > 1) variance += (a * b * bad * good) / (n * n * (n - 1))
  }
  if (use.length === 0 || variance <= 0) return undefined
  const oddsSpread = pr / (2 * r * r) + mixed / (2 * r * s) + qs / (2 * s * s)
  const chiSquare = Math.max(0, Math.abs(excess) - correction) ** 2 / variance / effect
  return {
    odds: aboutLog(r / s, oddsSpread * effect),
    times: aboutLog(above / below, (spread / (above * below)) * effect),
    chiSquare,
    chanceAlone: chiSquareAbove(chiSquare, 1),
  }
}

function aboutLog(value: number, variance: number): Ranged {
  if (!(value > 0) || !Number.isFinite(value) || !Number.isFinite(variance))
    return { value, low: 0, high: Number.POSITIVE_INFINITY }
  // Where nearly all are bad the variance is a difference of equals, and may come out under 0.
  const reach = normalQuantile(0.5 + LEVEL / 2) * Math.sqrt(Math.max(0, variance))
  return { value, low: value * Math.exp(-reach), high: value * Math.exp(reach) }
}

/** Is the odds ratio the same in all strata? Source: B. Woolf, Ann. Hum. Genet. 19 (1955) 251, with 0.5 added to each count. */
export function sameInStrata(strata: readonly FourCounts[]): ChiSquare {
  const logs = strata.map((s) => {
    const [a, b, c, d] = [s.badA + 0.5, s.goodA + 0.5, s.badB + 0.5, s.goodB + 0.5]
    return { log: Math.log((a * d) / (b * c)), weight: 1 / (1 / a + 1 / b + 1 / c + 1 / d) }
  })
  const all = logs.reduce((sum, l) => sum + l.weight, 0)
  const mean = logs.reduce((sum, l) => sum + l.weight * l.log, 0) / all
  const chiSquare = logs.reduce((sum, l) => sum + l.weight * (l.log - mean) ** 2, 0)
  const df = strata.length - 1
  return { chiSquare, df, chanceAlone: df < 1 ? 1 : chiSquareAbove(chiSquare, df) }
}

/**
 * Chances alone, corrected for how many were looked at, in the order given.
 * Source: Benjamini and Hochberg, J. R. Stat. Soc. B 57 (1995) 289; with `dependent` Benjamini and
 * Yekutieli, Ann. Stat. 29 (2001) 1165.
 */
export function corrected(chances: readonly number[], dependent = false): number[] {
  const m = chances.length
  const order = chances.map((_, i) => i).sort((i, j) => chances[j]! - chances[i]!)
  let factor = 1
  if (dependent) for (let i = 2; i <= m; i++) factor += 1 / i
  const out = new Array<number>(m)
  let least = 1
  for (const [k, i] of order.entries()) {
    least = Math.min(least, (chances[i]! * m * factor) / (m - k))
    out[i] = least
  }
  return out
}

/**
 * Do defects rise with the dose? Positive z: they do.
 * Source: Cochran, Biometrics 10 (1954) 417; Armitage, Biometrics 11 (1955) 375.
 */
export function trend(
  groups: readonly { dose: number; castings: number; defective: number }[],
  effect = 1,
): { z: number; chanceAlone: number } {
  const castings = groups.reduce((sum, g) => sum + g.castings, 0)
  const defective = groups.reduce((sum, g) => sum + g.defective, 0)
  const share = defective / castings
  const mean = groups.reduce((sum, g) => sum + g.castings * g.dose, 0) / castings
  const spread = groups.reduce((sum, g) => sum + g.castings * (g.dose - mean) ** 2, 0)
  const lean = groups.reduce(
    (sum, g) => sum + (g.defective - g.castings * share) * (g.dose - mean),
    0,
  )
  const variance = share * (1 - share) * spread * effect
  const z = variance > 0 ? lean / Math.sqrt(variance) : 0
  return { z, chanceAlone: Math.min(1, 2 * normalAbove(Math.abs(z))) }
}
