import { beforeAll, describe, expect, it } from 'vitest'
import { followThing, nothingFollowed, type View } from '../../services/metal/followed.ts'
import { Reach } from '../../services/metal/reach.ts'
import { simulate } from '../../services/plant/plant.ts'
import { hear } from '../../services/plant/score/hear.ts'
import type { Truth } from '../../services/plant/truth.ts'
import { DEMO } from '../../services/plant/work.ts'
import { type LookedAt, lookedAt } from '../../services/query/causes/looked-at.ts'
import { changeover } from '../../services/query/rates/changeover.ts'
import { countBy } from '../../services/query/rates/count.ts'
import { fairFor } from '../../services/query/rates/fair.ts'
import { recipesIn, sharesOf } from '../../services/query/rates/in-metal.ts'
import { type RateBy, splitBy } from '../../services/query/rates/split.ts'
import { compareRates, type Looked } from '../../services/stats/rates/compare.ts'
import { trend } from '../../services/stats/tables.ts'

const ASKED = { ownMetal: 0.9, dosed: {}, shifts: ['06:00', '14:00', '22:00'] }

describe('Rates of the demo', { timeout: 120_000 }, () => {
  let view: View
  let truth: Truth
  let plant: string
  let looked: LookedAt
  const about = { stage: 'after-blast', defects: ['pinhole'], window: { from: 0, to: 1e15 } }

  beforeAll(() => {
    const { reports, truth: really } = simulate(DEMO)
    truth = really
    const { record, plant: own } = hear(reports)
    plant = own
    view = record.at().view
    looked = lookedAt(view, plant, about)
  }, 120_000)

  const split = (by: RateBy, more = {}) => splitBy(view, plant, looked, by, { ...ASKED, ...more })!
  const totals = () => ({
    castings: looked.rows.reduce((sum, row) => sum + row.castings, 0),
    defective: looked.rows.reduce((sum, row) => sum + row.defective, 0),
  })

  it.each(['FURNACE', 'LINE', 'PATTERN', 'CAVITY', 'PRODUCT', 'DAY', 'SHIFT', 'RECIPE'] as const)(
    'split by %s count every casting once, or say that it is left out',
    (by) => {
      const { looked: counted, leftOut, groups } = countBy(looked, [split(by)])
      const castings = counted.reduce((sum, one) => sum + one.castings, 0)
      expect(castings + leftOut).toBeCloseTo(totals().castings, 6)
      expect(groups.length).toBeGreaterThan(0)
    },
  )

  it('split by two count the same castings as by each', () => {
    const { looked: counted, leftOut } = countBy(looked, [split('LINE'), split('FURNACE')])
    const castings = counted.reduce((sum, one) => sum + one.castings, 0)
    expect(castings + leftOut).toBeCloseTo(totals().castings, 6)
  })

  it('without some castings count the rest, and say how many were left out', () => {
    const drop = looked.units.map(({ pour }) => pour % 3 === 0)
    for (const splits of [[split('LINE')], [split('LINE'), split('MACHINE', { step: 'blast' })]]) {
      const { looked: counted, leftOut, without } = countBy(looked, splits, drop)
      const castings = counted.reduce((sum, one) => sum + one.castings, 0)
      expect(castings + leftOut + without).toBeCloseTo(totals().castings, 6)
      expect(without).toBeGreaterThan(totals().castings / 10)
    }
    const none = countBy(
      looked,
      [split('LINE')],
      looked.units.map(() => true),
    )
    // What is left is of unknown origin: of no unit.
    expect(none.groups).toEqual([])
  })

  it('are made fair for what is asked, over the same castings', () => {
    const known = [split('FURNACE')]
    const counted = countBy(looked, known)
    const groups = counted.groups.length
    const castingsOf = (of: readonly { group: number; castings: number }[]) =>
      Array.from({ length: groups }, (_, g) =>
        of.filter(({ group }) => group === g).reduce((sum, { castings }) => sum + castings, 0),
      )
    const strata = (fair: { stratum: number }[]) => new Set(fair.map(({ stratum }) => stratum)).size
    const adjusted = (fair: Looked[]) =>
      compareRates(counted.looked, groups, undefined, fair).rows.map((row) => row.adjusted.value)
    const fairly = (byProduct: boolean, ...by: RateBy[]) =>
      fairFor(looked, known, counted, { byProduct, splits: by.map((one) => split(one)) })
    const [lines, both, none] = [fairly(false, 'LINE'), fairly(true, 'LINE'), fairly(false)]
    expect(strata(lines)).toBe(countBy(looked, [split('LINE')]).groups.length)
    expect(strata(both)).toBeGreaterThan(strata(lines))
    for (const fair of [lines, both, none])
      for (const [g, castings] of castingsOf(fair).entries())
        expect(castings).toBeCloseTo(castingsOf(counted.looked)[g]!, 6)
    // Made fair for nothing, a rate is the plain one; for lines, found over expected of its lines.
    const { rows, overall } = compareRates(counted.looked, groups)
    for (const [g, value] of adjusted(none).entries())
      expect(value).toBeCloseTo(rows[g]!.rate.value, 12)
    const rateOf = (of: Looked[]) => {
      const sum = (count: 'castings' | 'defective') => of.reduce((all, one) => all + one[count], 0)
      return sum('defective') / sum('castings')
    }
    const expected = lines
      .filter(({ group }) => group === 0)
      .reduce(
        (sum, one) =>
          sum + one.castings * rateOf(lines.filter(({ stratum }) => stratum === one.stratum)),
        0,
      )
    const found = rows[0]!.defective
    expect(adjusted(lines)[0]).toBeCloseTo((found / expected) * overall.rate.value, 9)
  })

  it('split by machine of a step name its machines', () => {
    const { groups } = countBy(looked, [split('MACHINE', { step: 'blast' })])
    expect(groups.flat().length).toBeGreaterThan(0)
    expect(splitBy(view, plant, looked, 'MACHINE', { ...ASKED, step: 'polish' })).toBeUndefined()
  })

  it('rise with the dose of the lot that was planted', () => {
    const lot = view.things.numberOf(plant, truth.cause!.lot)!
    const doses = split('LOT', { dosed: { LOT: { name: 'it', lots: [lot] } } })
    const counted = countBy(looked, [doses])
    const { rows } = compareRates(counted.looked, counted.groups.length)
    const found = trend(
      rows.map(({ group, castings, defective, designEffect }) => ({
        dose: doses.doses!.get(counted.groups[group]![0]!)!,
        castings: castings / designEffect,
        defective: defective / designEffect,
      })),
    )
    expect(found.z).toBeGreaterThan(4)
  })

  it('take metal for that of one recipe alone, though returns were charged by another before', () => {
    const metal = recipesIn(view, plant)
    expect(metal.length).toBeGreaterThan(1)
    for (const { no } of view.castings.pours()) {
      const all = metal.reduce((sum, { byPour }) => sum + (byPour.get(no) ?? 0), 0)
      expect(all).toBeLessThan(1 + 1e-9)
    }
    // By the second day all but the heel of the first is of the new revision.
    const days = changeover(view, plant, looked, metal)
    for (const [d] of days.days.entries())
      expect(days.share.reduce((sum, of) => sum + of[d]!, 0)).toBeGreaterThan(0.9)
  })

  it('go by the same share of a lot as where it went', () => {
    const lot = view.things.numberOf(plant, truth.cause!.lot)!
    const followed = nothingFollowed()
    followThing(view, followed, lot)
    const found = sharesOf(view, [lot])
    const reached = new Reach(view, followed).pours.filter(({ best }) => best > 0)
    expect(found.size).toBe(reached.length)
    for (const { pour, best } of reached) expect(found.get(pour)).toBeCloseTo(best, 12)
  })

  it('count a pour for a recipe only when enough of its metal was charged by it', () => {
    const half = countBy(looked, [split('RECIPE', { ownMetal: 0.51 })])
    const most = countBy(looked, [split('RECIPE', { ownMetal: 0.99 })])
    expect(most.leftOut).toBeGreaterThan(half.leftOut)
  })

  it('have no number that is none', () => {
    const counted = countBy(looked, [split('LINE')])
    const { rows } = compareRates(counted.looked, counted.groups.length)
    for (const { rate, adjusted, steadied, times } of rows)
      for (const ends of [rate, adjusted, steadied, times])
        if (ends) expect(Object.values(ends).every((value) => !Number.isNaN(value))).toBe(true)
  })
})
