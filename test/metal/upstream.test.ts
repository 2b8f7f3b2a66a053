import { describe, expect, it } from 'vitest'
import { originsOf } from '../../services/metal/origins.ts'
import { upstreamOf } from '../../services/metal/upstream.ts'
import { simulate } from '../../services/plant/plant.ts'
import { randomOf } from '../../services/plant/random.ts'
import { hear } from '../../services/plant/score/hear.ts'
import { restsOf } from '../../services/query/answers/origins.ts'

const mishaps = ['late', 'duplicated', 'missing', 'mistaken', 'swapped', 'forgotten'] as const

describe('What a pack or pan is made of and came through', () => {
  it.each([
    ['with the usual faults', hear(simulate({ seed: 5, days: 1 }).reports)],
    [
      'of a dirty plant, its reports in any order',
      hear(
        simulate({ seed: 6, days: 1, faults: false, dirty: true, mishaps }).reports,
        randomOf(6, 'order'),
      ),
    ],
  ])('is what sweeps back give a part of it: %s', (_, { record }) => {
    const { view } = record.at()
    const { book, things } = view
    const marked = [...book.all('pack-line'), ...book.all('pan-packed'), ...book.all('repacked')]
    const asked = new Set(marked.map(({ fact }) => fact.of))
    const all = new Set<number>()
    for (const what of [
      'pack-line',
      'poured',
      'load-handled',
      'charge-line',
      'heat-begun',
    ] as const)
      for (const { fact } of book.all(what)) all.add(fact.of)
    for (const what of ['lot-received', 'returns-collected', 'sand-mulled', 'molds-made'] as const)
      for (const { fact } of book.all(what)) all.add(fact.of)
    for (const no of book.namedElsewhere()) all.add(no)
    let known = 0
    for (const no of [...asked].filter((_, i) => i % 4 === 0)) {
      const origins = originsOf(view, no)
      const upstream = upstreamOf(view, no)
      expect(upstream === undefined).toBe(origins === undefined)
      if (!upstream) continue
      known++
      const { on } = restsOf(view, no, origins)
      expect(upstream.pours).toEqual(new Set(origins!.pours.map(({ pour }) => pour)))
      const differs = [...all].filter(
        (thing) => on(thing) !== (thing === no || upstream.things.has(thing)),
      )
      expect(differs.map((thing) => things.name(thing))).toEqual([])
    }
    expect(known).toBeGreaterThan(30)
  })
})
