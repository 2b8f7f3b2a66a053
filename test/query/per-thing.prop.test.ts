import fc from 'fast-check'
import { expect, it } from 'vitest'
import type { Claim } from '../../services/events/claim.ts'
import type { Fact, Ms } from '../../services/events/fact.ts'
import { inForce } from '../../services/events/merge.ts'
import { CLOCKS, lostSightFrom } from '../../services/metal/lost-sight.ts'
import { RecordInHand, type Told } from '../../services/query/record/record-in-hand.ts'
import { anyClaims, claim, PLANT } from '../events/claims.ts'
import { runs } from '../runs.ts'

const NAMES = ['furnace:F', 'lot:L', 'charge:C', 'heat:H', 'ladle:1', 'ladle:2', 'line:1', 'pour:P']
const [FURNACE, LOT, CHARGE, HEAT, LADLE, OTHER, LINE, POUR] = [...NAMES.keys()]
/** What makes each reported. */
const OWN = new Map([
  [LOT, ['lot-received', 'metal-moved']],
  [CHARGE, ['charge-line']],
  [HEAT, ['heat-begun']],
  [LADLE, ['ladle-tapped', 'metal-moved']],
  [OTHER, ['ladle-tapped', 'metal-moved']],
  [POUR, ['poured']],
])

const molds = { first: 1, last: 9 }
const FACTS = [
  { what: 'lot-received', of: LOT, role: 'metallic', material: 'pig iron', amount: 900 },
  { what: 'charge-line', of: CHARGE, other: LOT, amount: 500 },
  { what: 'heat-begun', of: HEAT, via: FURNACE },
  { what: 'heat-charged', of: HEAT, via: FURNACE, other: CHARGE },
  { what: 'ladle-tapped', of: LADLE, other: HEAT, via: FURNACE, amount: 300 },
  { what: 'metal-moved', of: OTHER, other: LADLE, amount: 100, reason: 'full' },
  { what: 'poured', of: POUR, other: LADLE, via: LINE, from: 0, ...molds },
  { what: 'poured', of: POUR, other: OTHER, via: LINE, from: 0, ...molds },
  { what: 'heat-charged', of: HEAT, via: FURNACE, other: LOT },
  { what: 'heat-added', of: HEAT, via: FURNACE, other: LOT, amount: 10 },
  { what: 'returned-from', of: LOT, other: POUR, amount: 90 },
  { what: 'metal-spilled', of: LADLE, amount: 250, reason: 'leak' },
  { what: 'metal-moved', of: OTHER, other: FURNACE, via: HEAT, amount: 100, reason: 'full' },
  { what: 'metal-moved', of: LOT, other: LADLE, amount: 290, reason: 'left' },
  { what: 'topped-up', of: POUR, other: OTHER, mold: 1 },
  { what: 'measured', of: HEAT, quantity: 'temperature', amount: 1_400, unit: 'CEL' },
  { what: 'disposed', of: LADLE, other: HEAT, decision: 'scrap', by: 'somebody' },
] as unknown as Fact<number>[]

type Said = { claim: Claim; facts: Fact<number>[] }

/** Reports that correct, withdraw, repeat and contradict each other, each with what it says. */
const anySaid: fc.Arbitrary<Said[]> = anyClaims(10).chain((claims) => {
  const fact = fc.tuple(fc.constantFrom(...FACTS), fc.nat(5))
  const facts = fc.array(
    fact.map(([said, at]) => ({ ...said, at })),
    { minLength: 1, maxLength: 3 },
  )
  // What a claim says follows from its content, as with real statements.
  const contents = [...new Set(claims.map(({ hash }) => hash))]
  return fc
    .array(facts, { minLength: contents.length, maxLength: contents.length })
    .map((each) => claims.map((claim) => ({ claim, facts: each[contents.indexOf(claim.hash)]! })))
})

function follow(): { record: RecordInHand; take(said: Said[]): void } {
  const record = new RecordInHand()
  for (const [no, name] of NAMES.entries()) record.things.add(no, { plant: PLANT, name })
  return {
    record,
    take(all) {
      const told = all.map(({ claim, facts }): Told => {
        const said = { spans: [], tie: Number.parseInt(claim.hash, 16) }
        return { ...claim, said, noted: false, facts: facts.map((fact, n) => ({ fact, said, n })) }
      })
      record.take(told)
    },
  }
}

/** The same from nothing: by what is in force as of a moment, and what ever was by then. */
function fromNothing(all: Said[], asOf: Ms): [no: number, since: Ms][] {
  const heldAt = (moment: Ms) => {
    const heard = all.filter(({ claim }) => claim.recorded <= moment)
    const held = inForce(heard.map(({ claim }) => claim)).inForce
    return heard.filter(({ claim }) => held.has(claim)).flatMap(({ facts }) => facts)
  }
  const others = (facts: Fact<number>[]) => facts.map((fact) => 'other' in fact && fact.other)
  const moments = all.map(({ claim }) => claim.recorded).filter((moment) => moment <= asOf)
  const named = new Set(moments.flatMap((moment) => others(heldAt(moment))))
  const held = heldAt(asOf)
  const dated = held.filter(({ what }) => what !== 'disposed')
  return [...OWN].flatMap(([no, own]): [number, Ms][] => {
    if (!named.has(no!) || held.some(({ of, what }) => of === no && own.includes(what))) return []
    const about = dated.filter(({ of }) => of === no)
    const naming = dated.filter((fact) => 'other' in fact && fact.other === no)
    const since = (about.length > 0 ? about : naming).map((fact) =>
      'from' in fact ? fact.from! : fact.at,
    )
    return since.length > 0 ? [[no!, Math.min(...since)]] : []
  })
}

it('knows what is named and never reported after each report as from nothing, and as of then ever after', () => {
  fc.assert(
    fc.property(anySaid, fc.array(fc.nat(3)), (all, sizes) => {
      const { record, take } = follow()
      const isNamed = (asOf?: Ms) => [...record.namedOnly(record.at(asOf).view)].sort(byNo)
      const taken: Said[] = []
      for (let at = 0, i = 0; at < all.length; i++) {
        const some = all.slice(at, at + 1 + (sizes[i] ?? 0))
        at += some.length
        take(some)
        taken.push(...some)
        expect(isNamed()).toEqual(fromNothing(taken, Number.MAX_VALUE))
      }
      for (const asOf of new Set(all.map(({ claim }) => claim.recorded)))
        expect(isNamed(asOf)).toEqual(fromNothing(all, asOf))
    }),
    runs(1_000),
  )
})

const ABOUT_LOTS = FACTS.filter(({ of, what }) => of === LOT || /^(charge-line|heat-c)/.test(what))

/** Reports of a few sorts, none against another, some of them withdrawn later. */
const anyReports: fc.Arbitrary<Said[]> = fc
  .oneof(
    fc.subarray(FACTS, { minLength: 2, maxLength: 6 }),
    fc.subarray(ABOUT_LOTS, { minLength: 2 }),
  )
  .chain((some) =>
    fc.array(fc.tuple(fc.constantFrom(...some), fc.nat(5), fc.option(fc.nat(12))), {
      maxLength: 12,
    }),
  )
  .map((steps) => {
    const said = steps.map(([fact, at], i) => {
      const about = `report ${i}`
      return { claim: claim({ id: about, about, recorded: i }), facts: [{ ...fact, at }] }
    })
    const withdrawn = steps.flatMap(([, , later], i): Said[] => {
      if (later === null) return []
      const { about, source, id } = said[i]!.claim
      const joins = { source, id }
      const recorded = i + 1 + later
      return [{ claim: claim({ id: `not ${i}`, about, joins, void: true, recorded }), facts: [] }]
    })
    return [...said, ...withdrawn].sort((a, b) => a.claim.recorded - b.claim.recorded)
  })

/** Of something else, later than all. */
const LAST: Said = {
  claim: claim({ id: 'last', about: 'something else', recorded: 99 }),
  facts: [],
}

it('knows from when on metal was lost sight of as if all were read anew', () => {
  fc.assert(
    fc.property(anyReports, fc.integer({ min: 1, max: 4 }), (all, size) => {
      const { record, take } = follow()
      const lost = (asOf?: Ms) =>
        [-1, 1, 2, 3, 4, 5, 6].map((from) => lostSightFrom(record.at(asOf).view, from))
      let growing = lost()
      for (let at = 0; at < all.length; at += size) {
        take(all.slice(at, at + size))
        growing = lost()
      }
      take([LAST])
      // As of the past it is looked for in all there is.
      expect(growing).toEqual(lost(98))
    }),
    runs(1_000),
  )
})

it('finds a charge again when the receipt of its lot comes behind it', () => {
  const { record, take } = follow()
  const say = (what: string, n: number): Said => {
    const fact = FACTS.find((one) => one.what === what)!
    const about = `report ${n}`
    return { claim: claim({ id: about, about, recorded: n }), facts: [{ ...fact, at: n }] }
  }
  const lost = () => lostSightFrom(record.at().view, 0)
  take([say('charge-line', 1), say('heat-charged', 2), say('heat-begun', 3)])
  expect(lost()).toBe(1 - CLOCKS)
  take([say('lot-received', 4)])
  expect(lost()).toBeUndefined()
})

function byNo(a: readonly [number, Ms], b: readonly [number, Ms]): number {
  return a[0] - b[0]
}
