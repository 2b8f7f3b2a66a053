// How well an effect of a given size explains what was found, whatever the size of the rates.
//
// A casting of a row with the base chance m has, where the candidate is at work, its odds multiplied by
// e^b; of a row in which a part x is exposed the chance is (1 − x)·π₀ + x·π₁, so that commingled loads
// need no guess which of their castings were exposed. Each stratum (product) is held to its own total:
// its base odds are scaled until as many are expected as were found. Product mix cannot pose as a
// cause. With rare defects this is the conditional Poisson likelihood; with frequent ones chances
// still stay below 1.

/** Logarithms of the odds ratio at which evidence is worked out. */
export const STEP = 0.08
export const GRID: Float64Array = Float64Array.from({ length: 61 }, (_, j) => -1.2 + STEP * j)

/** Exposures are told apart in this many steps. */
export const BINS = 16
/** A tally has a cell for each, and one for no exposure. */
export const CELLS = BINS + 1
/** Rounds of Newton's method for the base odds; started from those of the grid point before. */
const ROUNDS = 3
/** Each doubles the digits that are right: after a step as small as this they are. */
const NEAR = 1e-6
const LEAST = 1e-9

/** What was found and expected, by stratum and exposure: all a likelihood needs of a candidate. */
export interface Tally {
  strata: number
  /** By stratum × CELLS. */
  castings: Float64Array
  defective: Float64Array
  expected: Float64Array
}

export interface Looked {
  castings: Float64Array
  defective: Float64Array
  stratum: Int32Array
  strata: number
}

/** Rows summed by stratum and exposure; rows whose exposure is not known are left out. */
export function tallyOf(looked: Looked, base: Float64Array, exposure: Float64Array): Tally {
  const { castings, defective, stratum, strata } = looked
  const tally = emptyTally(strata)
  for (let r = 0; r < exposure.length; r++) {
    const x = exposure[r]!
    if (Number.isNaN(x)) continue
    const at = stratum[r]! * CELLS + Math.round(x * BINS)
    tally.castings[at]! += castings[r]!
    tally.defective[at]! += defective[r]!
    tally.expected[at]! += castings[r]! * base[r]!
  }
  return tally
}

export function emptyTally(strata: number): Tally {
  return emptyTallies(1, strata)[0]!
}

/** So many at once, in one piece of memory for each sort of count. */
export function emptyTallies(count: number, strata: number): Tally[] {
  const cells = strata * CELLS
  const castings = new Float64Array(count * cells)
  const defective = new Float64Array(count * cells)
  const expected = new Float64Array(count * cells)
  return Array.from({ length: count }, (_, i) => ({
    strata,
    castings: castings.subarray(i * cells, (i + 1) * cells),
    defective: defective.subarray(i * cells, (i + 1) * cells),
    expected: expected.subarray(i * cells, (i + 1) * cells),
  }))
}

/** Logarithm of the likelihood at each point of the grid, less that of no effect. */
export function logLikelihood(tally: Tally): Float64Array {
  const sum = new Float64Array(GRID.length)
  for (let s = 0; s < tally.strata; s++) addStratum(tally, s, sum)
  const none = sum[ZERO]!
  for (let j = 0; j < sum.length; j++) sum[j]! -= none
  return sum
}
/** The grid point of no effect. */
const ZERO = 15

function addStratum(tally: Tally, s: number, sum: Float64Array): void {
  const cells = cellsOf(tally, s)
  const { x, n, y, odds, castings, defective } = cells
  // Nothing is learnt where none, or all, are defective, nor where all are exposed alike.
  if (x.length < 2 || defective <= 0 || defective >= castings) return
  let [scale, moved] = [0, 0]
  for (let j = 0; j < GRID.length; j++) {
    const times = Math.exp(GRID[j]!)
    const next = holdToTotal(cells, times, scale + moved)
    // From point to point it moves nearly alike.
    moved = j > 0 ? next - scale : 0
    scale = next
    const a = Math.exp(scale)
    let log = 0
    for (let k = 0; k < x.length; k++) {
      const none = (a * odds[k]!) / (1 + a * odds[k]!)
      const all = (a * odds[k]! * times) / (1 + a * odds[k]! * times)
      const chance = clamp(none + x[k]! * (all - none))
      log += y[k]! * Math.log(chance) + (n[k]! - y[k]!) * Math.log1p(-chance)
    }
    sum[j]! += log
  }
}

interface Cells {
  x: number[]
  n: number[]
  y: number[]
  odds: number[]
  castings: number
  defective: number
}

function cellsOf(tally: Tally, s: number): Cells {
  const cells: Cells = { x: [], n: [], y: [], odds: [], castings: 0, defective: 0 }
  for (let k = 0; k <= BINS; k++) {
    const at = s * CELLS + k
    const n = tally.castings[at]!
    if (n <= 0) continue
    const y = tally.defective[at]!
    const chance = clamp(tally.expected[at]! / n)
    cells.x.push(k / BINS)
    cells.n.push(n)
    cells.y.push(y)
    cells.odds.push(chance / (1 - chance))
    cells.castings += n
    cells.defective += y
  }
  return cells
}

/** Logarithm of the factor on all base odds with which as many are expected as were found. */
function holdToTotal({ x, n, odds, defective }: Cells, times: number, from: number): number {
  let scale = from
  for (let round = 0; round < ROUNDS; round++) {
    const a = Math.exp(scale)
    let expected = 0
    let slope = 0
    for (let k = 0; k < x.length; k++) {
      const none = (a * odds[k]!) / (1 + a * odds[k]!)
      const all = (a * odds[k]! * times) / (1 + a * odds[k]! * times)
      expected += n[k]! * (none + x[k]! * (all - none))
      slope += n[k]! * ((1 - x[k]!) * none * (1 - none) + x[k]! * all * (1 - all))
    }
    // On the scale of logarithms the expected count is nearly straight.
    const more = Math.max(-2, Math.min(2, (Math.log(defective / expected) * expected) / slope))
    scale += more
    if (Math.abs(more) < NEAR) break
  }
  return scale
}

/** Base chances of rows once an effect of size b is at work, each stratum held to its total. */
export function withEffect(
  looked: Looked,
  base: Float64Array,
  exposure: Float64Array,
  b: number,
): Float64Array {
  const tally = tallyOf(looked, base, exposure)
  const times = Math.exp(b)
  const scale = Float64Array.from({ length: looked.strata }, (_, s) => {
    const cells = cellsOf(tally, s)
    const told = cells.defective > 0 && cells.defective < cells.castings
    return told ? Math.exp(holdToTotal(cells, times, holdToTotal(cells, times, 0))) : 1
  })
  return base.map((chance, r) => {
    const x = exposure[r]!
    if (Number.isNaN(x)) return chance
    const odds = (scale[looked.stratum[r]!]! * chance) / (1 - chance)
    const none = odds / (1 + odds)
    const all = (odds * times) / (1 + odds * times)
    return clamp(none + x * (all - none))
  })
}

function clamp(chance: number): number {
  return Math.min(1 - LEAST, Math.max(LEAST, chance))
}
