import { describe, expect, it } from 'vitest'
import { randomOf } from '../../services/plant/random.ts'
import type { Part } from '../../services/stats/causes/candidate.ts'
import { explain } from '../../services/stats/causes/explain.ts'
import { Exposures } from '../../services/stats/causes/exposures.ts'
import { believing, type Guesses } from '../../services/stats/causes/guesses.ts'
import { fillIn } from '../../services/stats/causes/likely.ts'
import { groupsOf } from '../../services/stats/causes/report.ts'
import { atomsOf, type Factor } from '../../services/stats/causes/table.ts'

const GONE = Number.NaN

describe('What nobody recorded of a thing', () => {
  it('is nearly sure where things follow each other', () => {
    const held = Float64Array.from({ length: 60 }, (_, t) => (t < 30 ? 0 : 1))
    held[10] = GONE
    held[45] = GONE
    const full = fillIn(held)
    expect(full[10]).toBeLessThan(0.05)
    expect(full[45]).toBeGreaterThan(0.95)
    expect(full.filter((_, t) => t !== 10 && t !== 45)).toEqual(
      held.filter((_, t) => t !== 10 && t !== 45),
    )
  })

  it('is as likely as elsewhere where they do not', () => {
    const random = randomOf(1, 'things')
    const held = Float64Array.from({ length: 400 }, () => (random.chance(0.25) ? 1 : 0))
    held[200] = GONE
    expect(fillIn(held)[200]).toBeGreaterThan(0.1)
    expect(fillIn(held)[200]).toBeLessThan(0.5)
  })

  it('is not guessed where nothing is known at all', () => {
    expect([...fillIn(Float64Array.of(GONE, GONE))]).toEqual([GONE, GONE])
  })
})

describe('Exposure with guesses', () => {
  // Two heats, two rows of each; of the second heat nobody recorded the furnace. The last row is half of each heat.
  const unit = Int32Array.of(0, 0, 1, 1, 0, 1)
  const inspected = {
    castings: new Float64Array(5).fill(100),
    defective: new Float64Array(5),
    stratum: new Int32Array(5),
    makeups: [
      {
        start: Int32Array.of(0, 1, 2, 3, 4, 6),
        unit,
        part: Float64Array.of(1, 1, 1, 1, 0.5, 0.5),
      },
    ],
  }
  const factors: Factor[] = [
    {
      form: 'levels',
      kind: 'batch',
      name: 'heat',
      of: 0,
      codes: Int32Array.of(0, 1),
      levels: ['1', '2'],
    },
    {
      form: 'levels',
      kind: 'machine',
      name: 'furnace',
      of: 0,
      codes: Int32Array.of(0, -1),
      levels: ['1', '2'],
    },
    {
      form: 'levels',
      kind: 'machine',
      name: 'oven',
      of: 'row',
      codes: Int32Array.of(0, 1, 0, 1, 0),
      levels: ['1', '2'],
    },
  ]
  const furnace: Part = { factor: 1, is: 'level', level: 0 }
  const oven: Part = { factor: 2, is: 'level', level: 0 }
  const guessed = (parts: Part[]) => new Exposures(atomsOf(inspected), factors).guessed(parts, 5)

  it('is one guess for all castings of a thing', () => {
    const { likely, guesses } = guessed([furnace])
    expect([...likely.slice(0, 2)]).toEqual([1, 1])
    expect([...guesses!.row]).toEqual([2, 3, 4])
    expect([...guesses!.part]).toEqual([1, 1, 0.5])
    expect([...guesses!.first]).toEqual([0, 3])
    expect(likely[4]).toBeCloseTo(0.5 + 0.5 * guesses!.chance[0]!, 9)
  })

  it('guesses nothing where the other condition does not hold', () => {
    const { likely, guesses } = guessed([furnace, oven])
    expect([...guesses!.row]).toEqual([2, 4])
    expect(likely[1]).toBe(0)
    expect(likely[3]).toBe(0)
  })

  it('guesses nothing of what is recorded', () => {
    expect(guessed([oven])).toEqual({ likely: Float64Array.of(1, 0, 1, 0, 1), guesses: undefined })
  })

  it('believes a guess by what was found, and counts how likely it was', () => {
    const guesses: Guesses = {
      first: Int32Array.of(0, 2, 3),
      row: Int32Array.of(0, 1, 2),
      part: Float64Array.of(1, 1, 1),
      chance: Float64Array.of(0.2, 0.2),
    }
    // Rows 0 and 1 are e³ times likelier exposed, row 2 as much less likely.
    const log = (row: number, exposed: number) => exposed * (row < 2 ? 3 : -3)
    const believed = believing({ likely: new Float64Array(3).fill(0.2), guesses }, log)
    const chance = (times: number) => (0.25 * times) / (1 + 0.25 * times)
    expect(believed.exposed[0]).toBeCloseTo(chance(Math.exp(6)), 9)
    expect(believed.exposed[1]).toBeCloseTo(chance(Math.exp(6)), 9)
    expect(believed.exposed[2]).toBeCloseTo(chance(Math.exp(-3)), 9)
    // Where rows are straight in what is exposed, this is the likelihood of the mixture.
    const all = [0, 1, 2].reduce((sum, row) => sum + log(row, believed.exposed[row]!), believed.log)
    const mixture = Math.log(0.8 + 0.2 * Math.exp(6)) + Math.log(0.8 + 0.2 * Math.exp(-3))
    expect(all).toBeCloseTo(mixture, 9)
  })
})

describe('A cause of which two in five scans are missing', () => {
  it('is not beaten by the time from which on it was at work, which is known of all', () => {
    const random = randomOf(3, 'a fill')
    const loads = 300
    const at = Float64Array.from({ length: loads }, (_, load) => load)
    const fill = Int32Array.from(at, (load) => Math.floor(load / 100))
    const defective = Float64Array.from(fill, (level) => {
      let bad = 0
      for (let n = 0; n < 60; n++) if (random.chance(level === 2 ? 0.12 : 0.03)) bad++
      return bad
    })
    const recorded = fill.map((level) => (random.chance(0.4) ? -1 : level))
    const names = (count: number) => Array.from({ length: count }, (_, i) => `${i + 1}`)
    const own = { of: 'row', form: 'levels' } as const
    const factors: Factor[] = [
      { ...own, kind: 'machine', name: 'fill', codes: recorded, levels: names(3) },
      { ...own, kind: 'batch', name: 'load', codes: Int32Array.from(at), levels: names(loads) },
      { of: 'row', form: 'measure', kind: 'time', name: 'time', values: at },
    ]
    const inspected = {
      castings: new Float64Array(loads).fill(60),
      defective,
      stratum: new Int32Array(loads),
      makeups: [],
    }
    const [first] = groupsOf(explain(inspected, factors, []))
    expect(first!.members[0]!.candidate.parts).toEqual([{ factor: 0, is: 'level', level: 2 }])
  })
})
