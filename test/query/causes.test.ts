import { beforeAll, describe, expect, it } from 'vitest'
import type { View } from '../../services/metal/followed.ts'
import { simulate } from '../../services/plant/plant.ts'
import { randomOf } from '../../services/plant/random.ts'
import type { Report } from '../../services/plant/report.ts'
import { hear } from '../../services/plant/score/hear.ts'
import type { Truth } from '../../services/plant/truth.ts'
import { DEMO } from '../../services/plant/work.ts'
import { type LookedAt, lookedAt } from '../../services/query/causes/looked-at.ts'
import { type Weighed, weigh } from '../../services/query/causes/weigh.ts'
import { nameOf } from '../../services/query/causes/words.ts'
import { groupsOf, nothingOf } from '../../services/stats/causes/report.ts'

describe('What explains the defects of the demo', { timeout: 120_000 }, () => {
  let view: View
  let truth: Truth
  let plant: string
  let reports: readonly Report[]
  let looked: LookedAt
  let weighed: Weighed
  const about = { stage: 'after-blast', defects: ['pinhole'], window: { from: 0, to: 1e15 } }

  beforeAll(() => {
    const simulated = simulate(DEMO)
    reports = simulated.reports
    truth = simulated.truth
    const heard = hear(reports)
    plant = heard.plant
    view = heard.record.at().view
    looked = lookedAt(view, plant, about)
    weighed = weigh(view, plant, looked)
  }, 120_000)

  it('is the lot that was planted, before everything else recorded', () => {
    const [first] = groupsOf(weighed.found)
    const part = first!.members[0]!.candidate.parts[0]!
    expect(first!.members[0]!.candidate.kind).toBe('lot')
    expect(view.things.name(weighed.recorded[part.factor]!.things![0]!)).toBe(truth.cause!.lot)
    expect(nothingOf(weighed.found)).toBeLessThan(0.01)
  })

  it('rises with the dose', () => {
    const { rate, castings } = groupsOf(weighed.found)[0]!.dose!
    expect(rate.at(-1)!.value).toBeGreaterThan(3 * rate[0]!.value)
    const all = looked.rows.reduce((sum, row) => sum + row.castings, 0)
    expect(castings.reduce((a, b) => a + b, 0)).toBeGreaterThan(0.9 * all)
  })

  it('counts what the inspections counted', () => {
    const { defective, castings } = looked.inspected
    expect(defective.every((bad, r) => bad >= 0 && bad <= castings[r]!)).toBe(true)
  })

  it('takes parts of a row that add up to no more than it', () => {
    for (const { start, part } of looked.inspected.makeups)
      for (let r = 0; r < looked.rows.length; r++) {
        let sum = 0
        for (let i = start[r]!; i < start[r + 1]!; i++) sum += part[i]!
        expect(sum).toBeLessThan(1 + 1e-6)
      }
  })

  it('is never sought in what came after the look', () => {
    for (const [s, { handlings }] of looked.steps.entries()) {
      const { start, unit } = looked.inspected.makeups[s + 1]!
      for (const [r, { at }] of looked.rows.entries())
        for (let i = start[r]!; i < start[r + 1]!; i++)
          expect(handlings[unit[i]!]!.from).toBeLessThan(at)
    }
  })

  it('is never sought in people', () => {
    const names = weighed.recorded.map(({ factor }) => factor.name)
    expect(names.filter((name) => /inspector|crew|person|operator/.test(name))).toEqual([])
  })

  it('weighs what a metallurgist asks first', () => {
    const names = new Set(weighed.recorded.map(({ factor }) => factor.name))
    for (const name of [
      'treatment to pour',
      'tap to pour',
      'mold made to poured',
      'place in the ladle',
      'molds since the line stood',
      'recipe',
      'pattern',
      'cavity',
      'blast machine',
      'sand batch',
      'moisture of the sand',
    ])
      expect(names).toContain(name)
  })

  it('has no number that is none, of many defects or of few', () => {
    const firstDay = { from: 0, to: looked.rows[0]!.at + 86_400_000 }
    const ofFew = lookedAt(view, plant, { ...about, defects: ['misrun'], window: firstDay })
    const few = ofFew.inspected.defective.reduce((a, b) => a + b, 0)
    expect(few).toBeGreaterThan(0)
    expect(few).toBeLessThan(50)
    // In JSON what is no number is null.
    for (const one of [weighed, weigh(view, plant, ofFew)])
      expect(JSON.stringify(told(one))).not.toMatch(/null|NaN|undefined|Infinity/)
  })

  it('is the same to the last digit where a database numbers things otherwise', () => {
    const muddled = hear(reports, randomOf(7, 'other numbers')).record.at().view
    const again = weigh(muddled, plant, lookedAt(muddled, plant, about))
    expect(told(again)).toEqual(told(weighed))
  })
})

/** Groups with their members by name. */
function told({ recorded, found }: Weighed) {
  return groupsOf(found).map(({ members, dose, ...group }) => ({
    ...group,
    ...dose,
    members: members.map(({ candidate, ...member }) => ({
      name: nameOf(recorded, candidate),
      ...member,
    })),
  }))
}
