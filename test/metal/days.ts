import fc from 'fast-check'
import type { Fact, Step } from '../../services/events/fact.ts'
import {
  defect,
  handled,
  lost,
  mount,
  packed,
  pour,
  repacked,
  returned,
  run,
  type Said,
  shipped,
} from './shop.ts'

// Days in a shop, as bad as reports get: counts that do not fit, sources that were never reported,
// things used before they are made, moments that fall together, names used again.

const SKILLET_AND_LID = [
  { cavity: 'A', product: 'skillet', castingGrams: 2000 },
  { cavity: 'B', product: 'skillet', castingGrams: 2000 },
  { cavity: 'C', product: 'lid', castingGrams: 700 },
]
const STEPS: Step[] = ['shake-out', 'tumble', 'blast', 'sort', 'oil']
const PRODUCTS = ['skillet', 'lid', 'griddle']

const minute = fc.integer({ min: 0, max: 60 })
const few = fc.integer({ min: 0, max: 30 })
const named = (kind: string, most: number) =>
  fc.integer({ min: 1, max: most }).map((i) => `${kind}:${i}`)
const bare = (most: number) => fc.integer({ min: 1, max: most }).map(String)
const product = fc.constantFrom(...PRODUCTS)
const source = fc.oneof(named('pour', 4), named('load', 5), named('tote', 2))
const maybe = <T>(arb: fc.Arbitrary<T>) => fc.option(arb, { nil: undefined })

/** Leaves out what was not said. */
function said<T extends object>(parts: T): { [K in keyof T]: Exclude<T[K], undefined> } {
  return Object.fromEntries(Object.entries(parts).filter(([, v]) => v !== undefined)) as never
}

const sourceOf = fc
  .record({
    of: source,
    castings: maybe(few),
    product: maybe(product),
    cavity: maybe(fc.constantFrom('A', 'B', 'C')),
    emptied: maybe(fc.boolean()),
  })
  .map(said)

const removalOf = fc
  .record({
    castings: fc.integer({ min: 0, max: 6 }),
    fate: fc.constantFrom('scrap', 'rework', 'hold', 'sample'),
    of: maybe(source),
    product: maybe(product),
    into: maybe(fc.oneof(named('load', 5), named('tote', 2), named('lot', 1))),
  })
  .map(said)

const handling = fc
  .tuple(
    bare(5),
    fc.constantFrom(...STEPS),
    minute,
    fc.integer({ min: 0, max: 8 }),
    fc.record({
      castings: few,
      castingsIn: maybe(few),
      pass: fc.integer({ min: 1, max: 2 }),
      product: maybe(product),
      tote: maybe(bare(2)),
      sources: maybe(fc.array(sourceOf, { maxLength: 3 })),
      removed: maybe(fc.array(removalOf, { maxLength: 2 })),
    }),
  )
  .map(([load, step, from, long, parts]) =>
    handled(load, step, [from, from + long], said(parts) as Said),
  )

const packing = fc
  .tuple(bare(3), minute, product, few, fc.dictionary(source, fc.option(few), { maxKeys: 2 }))
  .map(([pack, at, made, castings, sources]) => packed(pack, at, [made, castings, sources]))

const statement: fc.Arbitrary<Fact[]> = fc.oneof(
  { weight: 6, arbitrary: handling },
  { weight: 2, arbitrary: packing },
  fc
    .tuple(bare(3), bare(3), few, minute, product)
    .map(([into, from, n, at, p]) => [repacked(into, from, n, at, p)]),
  fc.tuple(bare(2), bare(3), few, minute).map(([s, pack, n, at]) => [shipped(s, pack, n, at)]),
  fc
    .tuple(
      fc.oneof(named('pack', 3), named('return', 1)),
      few,
      minute,
      maybe(fc.oneof(named('load', 5), named('tote', 2), named('lot', 1))),
    )
    .map(([of, n, at, into]) => [returned(of, n, at, into)]),
  fc
    .tuple(
      fc.oneof(source, named('pack', 3)),
      few,
      minute,
      fc.constantFrom('scrap', 'hold', 'rework', 'accept'),
    )
    .map(([of, n, at, fate]) => [defect(of, n, at, { fate })]),
  fc
    .tuple(bare(4), fc.integer({ min: 1, max: 30 }), few, minute)
    .map(([name, first, long, at]) => [pour(name, [first, first + long], at)]),
  fc
    .tuple(bare(3), fc.integer({ min: 1, max: 30 }), few, minute, fc.constantFrom('P', 'Q'))
    .map(([name, first, long, at, pattern]) => [
      run(name, [first, first + long], [at, at + 10], { pattern }),
    ]),
  fc
    .tuple(minute, fc.constantFrom('P', 'Q'), maybe(fc.integer({ min: 1, max: 20 })), fc.boolean())
    .map(([at, pattern, fromMold, lids]) => [
      mount(
        at,
        said({ pattern, fromMold, ...(lids ? { cavities: SKILLET_AND_LID } : {}) }) as object,
      ),
    ]),
  fc
    .tuple(minute, fc.integer({ min: 1, max: 40 }), fc.integer({ min: 0, max: 4 }), maybe(few))
    .map(([at, first, long, castingsKept]) => [
      lost(at, [first, first + long], said({ castingsKept })),
    ]),
)

/** Statements of a few hours; each is a list of facts. One of each slot, as the record sees to. */
export const statements: fc.Arbitrary<Fact[][]> = fc
  .array(statement, { minLength: 1, maxLength: 25 })
  .map((list) => {
    const ordinary = [
      [mount(0)],
      [run('all', [1, 60], [0, 40])],
      [pour('1', [1, 15], 5)],
      [pour('2', [16, 40], 10)],
    ]
    return oneOfEach([...list, ...ordinary])
  })

function oneOfEach(list: Fact[][]): Fact[][] {
  const slots = new Map<string, Fact[]>()
  for (const [i, facts] of list.entries()) slots.set(slotOf(facts[0]!) ?? String(i), facts)
  return [...slots.values()]
}

function slotOf(fact: Fact): string | undefined {
  switch (fact.what) {
    case 'load-handled':
      return `${fact.of} ${fact.step} ${fact.pass} ${fact.from}`
    case 'pack-line':
    case 'poured':
    case 'molds-made':
      return fact.of
    case 'shipped':
      return `${fact.of} ${fact.other}`
    case 'pattern-mounted':
      return `${fact.what} ${fact.at}`
    default:
      return undefined
  }
}
