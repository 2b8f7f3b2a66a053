import { describe, expect, it } from 'vitest'
import { followThing, nothingFollowed } from '../../services/metal/followed.ts'
import { originsOf } from '../../services/metal/origins.ts'
import { Reach } from '../../services/metal/reach.ts'
import { simulate } from '../../services/plant/plant.ts'
import { randomOf } from '../../services/plant/random.ts'
import { hear } from '../../services/plant/score/hear.ts'

// Numbers of things follow who wrote first, and batches who was faster: the same log must answer alike.

describe('The same reports', { timeout: 120_000 }, () => {
  it.each([1, 7, 12])('answer alike whatever numbers things got, seed %i', (seed) => {
    const { reports } = simulate({ seed, days: 1 })
    const plain = answers(hear(reports))
    for (const name of ['one', 'two']) {
      const other = answers(hear(reports, randomOf(seed, name)))
      expect(other.origins).toEqual(plain.origins)
      expect(other.reach).toEqual(plain.reach)
    }
  })

  it.each([1, 7])('answer alike whichever came to a door first, seed %i', (seed) => {
    // Without faults: of two that contradict each other the one recorded later stands.
    const { reports } = simulate({ seed, days: 1, faults: false })
    const random = randomOf(seed, 'late')
    const late = reports
      .map((report) => ({ ...report, reaches: report.reaches + random.between(0, 2 * HOUR) }))
      .sort((a, b) => a.reaches - b.reaches)
    expect(answers(hear(late))).toEqual(answers(hear(reports)))
  })
})

const HOUR = 3_600_000

function answers({ record, plant }: ReturnType<typeof hear>) {
  const { view } = record.at()
  const { things } = view
  const lots = [...view.melt.lots()].map(([, lot]) => things.name(lot)).sort()
  const lot = lots.find((name) => name.startsWith('lot:SB-'))!
  const followed = nothingFollowed()
  followThing(view, followed, things.numberOf(plant, lot)!)
  const { pours, total } = new Reach(view, followed).scope({ share: 0.01 })
  const packs = new Set<string>()
  for (const { thing } of view.castings.nodes())
    if (thing > 0 && things.kind(thing) === 'pack') packs.add(things.name(thing))
  const origins = [...packs]
    .sort()
    .slice(0, 12)
    .map((pack) => {
      const known = originsOf(view, things.numberOf(plant, pack)!)!
      const parts = [
        ...known.pours.map(({ pour, chance }) => `${things.name(pour)} ${chance.toFixed(6)}`),
        ...known.lots.map(
          ({ lot: no, share, byHeel, byReturns }) =>
            `${things.name(no)} ${share.toFixed(6)} ${byHeel} ${byReturns}`,
        ),
        `unrecorded ${known.unrecorded}`,
      ]
      return [pack, ...parts.sort()]
    })
  return {
    origins,
    reach: [
      ...pours
        .map(
          ({ share, standing }) =>
            `${things.name(share.pour)} ${standing} ${share.best.toFixed(6)} ${share.low.toFixed(6)} ${share.high.toFixed(6)} ${share.parts.map(({ span }) => span.spread.toFixed(6))}`,
        )
        .sort(),
      JSON.stringify(total, (_, value) => (typeof value === 'number' ? value.toFixed(3) : value)),
    ],
  }
}
