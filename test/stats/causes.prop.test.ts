import fc from 'fast-check'
import { describe, expect, it } from 'vitest'
import { Gate } from '../../services/stats/causes/company.ts'
import { explain } from '../../services/stats/causes/explain.ts'
import { Exposures } from '../../services/stats/causes/exposures.ts'
import { Gather, wholly } from '../../services/stats/causes/gather.ts'
import { counted, groupsOf, nothingOf } from '../../services/stats/causes/report.ts'
import {
  seenByLevel,
  seenByRange,
  seenByTail,
  surprise,
} from '../../services/stats/causes/screen.ts'
import {
  type Atoms,
  atomsOf,
  type Factor,
  type Inspected,
} from '../../services/stats/causes/table.ts'
import { runs } from '../runs.ts'

const LEVELS = 4
const UNITS = 6

interface Table {
  inspected: Inspected
  levels: Int32Array
  bins: Int32Array
  base: Float64Array
}

const part = fc.double({ min: 0.01, max: 1, noNaN: true })
const code = fc.integer({ min: -1, max: LEVELS - 1 })

/** What of a row is made of units that somebody knows. */
const partly = fc.double({ min: 0.2, max: 1, noNaN: true })

const rowOf = (known: fc.Arbitrary<number>) =>
  fc.record({
    known,
    castings: fc.integer({ min: 0, max: 500 }),
    bad: fc.double({ min: 0, max: 1, noNaN: true }),
    stratum: fc.integer({ min: 0, max: 2 }),
    base: fc.double({ min: 0.005, max: 0.4, noNaN: true }),
    parts: fc.uniqueArray(fc.tuple(fc.integer({ min: 0, max: UNITS - 1 }), part), {
      minLength: 1,
      maxLength: 4,
      selector: ([unit]) => unit,
    }),
  })

/** At least so many rows of units mingled anyhow, with a factor of levels and one of bins by unit. */
const tables = (least: number, known = partly) =>
  fc
    .record({
      rows: fc.array(rowOf(known), { minLength: least, maxLength: 12 }),
      levels: fc.array(code, { minLength: UNITS, maxLength: UNITS }),
      bins: fc.array(code, { minLength: UNITS, maxLength: UNITS }),
    })
    .map(({ rows, levels, bins }): Table => {
      const parts = rows.map(({ parts, known }) => {
        const all = parts.reduce((sum, [, some]) => sum + some, 0)
        return parts.map(([unit, some]) => ({ unit, part: (some * known) / all }))
      })
      const start = [0]
      for (const some of parts) start.push(start.at(-1)! + some.length)
      return {
        inspected: {
          castings: Float64Array.from(rows, ({ castings }) => castings),
          defective: Float64Array.from(rows, ({ castings, bad }) => Math.round(castings * bad)),
          stratum: Int32Array.from(rows, ({ stratum }) => stratum),
          makeups: [
            {
              start: Int32Array.from(start),
              unit: Int32Array.from(parts.flat(), ({ unit }) => unit),
              part: Float64Array.from(parts.flat(), (one) => one.part),
            },
          ],
        },
        levels: Int32Array.from(levels),
        bins: Int32Array.from(bins),
        base: Float64Array.from(rows, ({ base }) => base),
      }
    })

const TAILS = [1, 2, 3].flatMap((cut) => [
  { from: 0, until: cut },
  { from: cut, until: LEVELS },
])

function factorsOf({ levels, bins }: Table): Factor[] {
  return [
    {
      form: 'levels',
      kind: 'machine',
      name: 'oven',
      of: 0,
      codes: levels,
      levels: ['1', '2', '3', '4'],
    },
    {
      form: 'measure',
      kind: 'measure',
      name: 'silicon',
      of: 0,
      values: Float64Array.from(bins, (bin) => (bin < 0 ? Number.NaN : bin)),
    },
  ]
}

const gathered = (atoms: Atoms, codes: Int32Array) =>
  new Gather(wholly(atoms)).by({ of: 0, codes, count: LEVELS })

const lookedAt = ({ inspected }: Table) => ({ ...inspected, strata: 3 })

describe('A first look', () => {
  it('at a tail by steps is that at its bins', () => {
    fc.assert(
      fc.property(tables(1), (one) => {
        const [atoms] = atomsOf(one.inspected)
        const looks = [seenByTail, seenByRange].map((seenBy) =>
          seenBy(lookedAt(one), one.base, gathered(atoms!, one.bins), LEVELS, TAILS),
        )
        for (const k of TAILS.keys()) {
          const [tail, range] = looks.map((seen) => surprise(seen, k))
          expect(tail!.score).toBeCloseTo(range!.score, 8)
          expect(tail!.information).toBeCloseTo(range!.information, 8)
        }
      }),
    )
  })

  it('at a level counts the castings it exposes', () => {
    fc.assert(
      fc.property(tables(1), (one) => {
        const atoms = atomsOf(one.inspected)
        const { castings, stratum } = one.inspected
        const seen = seenByLevel(lookedAt(one), one.base, gathered(atoms[0]!, one.levels), LEVELS)
        for (let level = 0; level < LEVELS; level++) {
          const sums = new Float64Array(3)
          const exposure = new Exposures(atoms, factorsOf(one)).of(
            [{ factor: 0, is: 'level', level }],
            new Float64Array(castings.length),
          )
          for (const [r, x] of exposure.entries())
            if (!Number.isNaN(x)) sums[stratum[r]!]! += x * castings[r]!
          for (const [s, sum] of sums.entries())
            expect(seen.castings[level * 3 + s]).toBeCloseTo(sum, 8)
        }
      }),
    )
  })
})

/** What company adds by its definition: the score of one exposure, less what follows the other's. */
function added(one: Table, gate: Float64Array, both: Float64Array): number {
  const { castings, defective, stratum } = one.inspected
  let [score, information, scoreOfGate, ofGate, common] = [0, 0, 0, 0, 0]
  for (let s = 0; s < 3; s++) {
    const rows = [...castings.keys()].filter((r) => stratum[r] === s && !Number.isNaN(both[r]!))
    const e = (r: number) => castings[r]! * one.base[r]!
    const sum = (of: (r: number) => number) => rows.reduce((total, r) => total + of(r), 0)
    const [found, expected] = [sum((r) => defective[r]!), sum(e)]
    if (found <= 0 || expected <= 0) continue
    const times = found / expected
    const mean = (x: Float64Array) => sum((r) => x[r]! * e(r)) / expected
    const [x, g] = [mean(both), mean(gate)]
    score += sum((r) => (both[r]! - x) * (defective[r]! - times * e(r)))
    scoreOfGate += sum((r) => (gate[r]! - g) * (defective[r]! - times * e(r)))
    information += times * sum((r) => e(r) * (both[r]! - x) ** 2)
    ofGate += times * sum((r) => e(r) * (gate[r]! - g) ** 2)
    common += times * sum((r) => e(r) * (both[r]! - x) * (gate[r]! - g))
  }
  if (ofGate > 1e-9) {
    score -= (common / ofGate) * scoreOfGate
    information -= common ** 2 / ofGate
  }
  return information > 0.5 ? score / Math.sqrt(information) : 0
}

describe('Company', () => {
  const gate = { factor: 0, is: 'level', level: 1 } as const

  it('of a machine adds what its definition says', () => {
    let compared = 0
    fc.assert(
      fc.property(tables(8, fc.constant(1)), (one) => {
        // Wholly known: of what is not, the two definitions leave out different rows.
        const known = {
          ...one,
          levels: one.levels.map((level) => (level > 0 ? 1 : 0)),
          bins: one.bins.map((bin) => Math.max(0, bin)),
        }
        const [atoms, factors] = [atomsOf(known.inspected), factorsOf(known)]
        const rows = known.base.length
        const exposures = new Exposures(atoms, factors)
        const alone = exposures.of([gate], new Float64Array(rows))
        const held = exposures.held([gate])
        const own = new Gate(lookedAt(known), known.base, atoms[0]!, { of: 0, held, alone })
        const found = own.surpriseOfTails({ of: 0, codes: known.bins, count: LEVELS }, TAILS)
        for (const [k, { from, until }] of TAILS.entries()) {
          const both = exposures.of(
            [gate, { factor: 1, is: 'between', from, until }],
            new Float64Array(rows),
          )
          const wanted = added(known, alone, both)
          // Just at the least information rounding decides.
          if (wanted === 0 || found[k] === 0) continue
          compared++
          expect(found[k]).toBeCloseTo(wanted, 6)
        }
      }),
      runs(1000),
    )
    expect(compared).toBeGreaterThan(20)
  })
})

describe('What explains the defects', () => {
  it('has no number that is none, whatever the castings', () => {
    fc.assert(
      fc.property(tables(1), (one) => {
        const { castings, defective } = one.inspected
        const sum = (all: Float64Array) => all.reduce((a, b) => a + b, 0)
        fc.pre(sum(defective) > 0 && sum(defective) < sum(castings))
        const everywhere: Factor = {
          form: 'dose',
          kind: 'lot',
          name: 'lot',
          of: 0,
          values: new Float64Array(UNITS).fill(1),
        }
        const never: Factor = { ...everywhere, values: new Float64Array(UNITS).fill(Number.NaN) }
        const clusters = [{ of: 0, codes: one.levels, groups: LEVELS }]
        const found = explain(one.inspected, [...factorsOf(one), everywhere, never], clusters)
        const told = [nothingOf(found), counted(found), groupsOf(found).map(withoutCuts)]
        // In JSON what is no number is null.
        expect(JSON.stringify(told)).not.toContain('null')
      }),
      { numRuns: 300 },
    )
  })
})

/** Cuts of a measure may lie at infinity, and a dose is of lots only. */
function withoutCuts({ members, dose, ...group }: ReturnType<typeof groupsOf>[number]) {
  return { ...group, ...dose, members: members.map(({ candidate: _, ...member }) => member) }
}
